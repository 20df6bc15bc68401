"""How the body gets up: who moves when, as shares of the moving part of the shot."""

from __future__ import annotations

from dataclasses import dataclass, field

# Legs first, so that there is something to stand on; then the trunk, arms, head last.
WINDOWS: dict[str, tuple[float, float]] = {
    "step_r": (0.00, 0.24),
    "step_l": (0.06, 0.30),
    "root": (0.06, 0.42),
    "knee": (0.04, 0.42),
    "waist": (0.06, 0.40),
    "torso": (0.10, 0.46),
    "arm_r": (0.30, 0.66),
    "arm_l": (0.38, 0.74),
    "head": (0.36, 0.70),
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
