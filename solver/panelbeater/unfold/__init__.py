"""Room: gives the body its default action from fold to standing."""

from panelbeater.unfold.options import UnfoldOptions
from panelbeater.unfold.rise import unfold_body

__all__ = ["UnfoldOptions", "unfold_body"]
