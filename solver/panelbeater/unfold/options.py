"""How the body gets up: who moves when, as shares of the moving part of the shot."""

from __future__ import annotations

from dataclasses import dataclass, field

# Legs first, so that there is something to stand on; then the trunk, arms, head last.
WINDOWS: dict[str, tuple[float, float]] = {
    "step_r": (0.06, 0.36),
    "step_l": (0.13, 0.43),
    "root": (0.14, 0.66),
    "knee": (0.10, 0.66),
    "waist": (0.14, 0.60),
    "torso": (0.22, 0.70),
    "arm_r": (0.34, 0.88),
    "arm_l": (0.40, 0.94),
    "head": (0.50, 0.97),
}


@dataclass(frozen=True, slots=True)
class UnfoldOptions:
    """Windows are shares of the moving span; lag and lift as named."""

    windows: dict[str, tuple[float, float]] = field(default_factory=lambda: dict(WINDOWS))
    lag_frames: float = 3.0
    """Each bone of an arm starts this much after its parent: overlapping action."""
    lift: float = 0.03
    """Height of a foot's step, share of the figure's height."""
    length_min: float = 0.5
    """A leg may look this much shorter while it unfolds towards us."""
