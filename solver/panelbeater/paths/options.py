"""How pieces travel: how close they keep to the body and how much they may shrink."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class PathOptions:
    """Lengths are shares of the figure's height."""

    touch: float = 0.0004
    """Pieces nearer than this touch."""
    touch_body: float = 0.004
    """A piece nearer than this to a bare bone is carried by it."""
    overlap: float = 0.02
    """A piece drawn back to the body goes this much further than it must."""
    spread_frames: int = 6
    """A correction fades in and out over this many frames."""
    n_rounds: int = 24
    n_smooth: int = 10
    """Rounds after which corrections are no longer smoothed."""
    smooth_frames: int = 2
    """Corrections are averaged over this many frames either side."""
    dip_travel: float = 0.2
    """Travels longer than this are hidden by a shrink in mid-motion."""
    dip_depth: float = 0.12
    """Deepest such shrink, share of the size; never below the piece's own allowance."""
