"""Room: folds the body inside the vehicle."""

from panelbeater.fold.energy import FoldOptions
from panelbeater.fold.search import body_leak, find_folds

__all__ = ["FoldOptions", "body_leak", "find_folds"]
