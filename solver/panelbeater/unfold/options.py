"""How the body gets up: who moves when, as shares of the moving part of the shot."""

from __future__ import annotations

from dataclasses import dataclass, field

# Legs first, so that there is something to stand on; then a brisk rise, which hides changes
# of size and is over before it flickers. Arms come out while the body rises, so that they
# are dressed as they appear and fewer groups are left to follow once it stands; head last.
WINDOWS: dict[str, tuple[float, float]] = {
    "step_r": (0.04, 0.22),
    "step_l": (0.08, 0.26),
    "root": (0.06, 0.40),
    "knee": (0.05, 0.40),
    "waist": (0.06, 0.40),
    "torso": (0.10, 0.44),
    "arm_r": (0.12, 0.54),
    "arm_l": (0.16, 0.60),
    "head": (0.28, 0.70),
}
# Seen from the vehicle, as everything is planned. As it plays: the head ducks, both arms
# tuck in nearly together, then the trunk sinks, and the feet are drawn in under it.
TUCKING: dict[str, tuple[float, float]] = {
    "step_r": (0.04, 0.26),
    "step_l": (0.00, 0.22),
    "root": (0.06, 0.44),
    "knee": (0.04, 0.44),
    "waist": (0.08, 0.44),
    "torso": (0.12, 0.48),
    "arm_r": (0.36, 0.70),
    "arm_l": (0.40, 0.74),
    "head": (0.48, 0.80),
}


@dataclass(frozen=True, slots=True)
class UnfoldOptions:
    """Windows are shares of the moving span; lag and lift as named."""

    windows: dict[str, tuple[float, float]] = field(default_factory=lambda: dict(WINDOWS))
    lag_frames: float = 3.0
    """Each bone of an arm starts this much after its parent: overlapping action. Below 0
    the hand goes first; played from robot to vehicle it then trails."""
    gathering: float = 1.0
    """Above 1 the trunk starts fast from the vehicle and slows; as it plays from robot to
    vehicle it hesitates and gathers speed, as a weight that sinks does."""
    lift: float = 0.03
    """Height of a foot's step, share of the figure's height."""
    step_frames: float = 5.0
    """A step takes at least this long, also in a short shot: a foot that turns flat within
    two frames digs its toe into the ground between them."""
    dip: float = 0.001
    """What may dip into the ground between two frames, share of the figure's height: half
    of what is promised."""
    length_min: float = 0.5
    """A leg may look this much shorter while it unfolds towards us."""


RISE = UnfoldOptions()
TUCK = UnfoldOptions(windows=TUCKING, lag_frames=-3.0, gathering=1.3)
