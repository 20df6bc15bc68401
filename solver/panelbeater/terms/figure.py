"""The character: silhouette, bones, and the region each bone carries."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from panelbeater.terms.arrays import Points
from panelbeater.terms.drawing import Shape

Controller = Literal["arm_l", "arm_r", "leg_l", "leg_r", "waist", "torso", "head"]
CONTROLLERS: tuple[Controller, ...] = (
    "arm_l", "arm_r", "leg_l", "leg_r", "waist", "torso", "head",
)  # fmt: skip

# Parents come before children. The figure faces us: its own left (_l) is at larger x.
BONE_TREE: tuple[tuple[str, str | None, Controller], ...] = (
    ("waist", None, "waist"),
    ("torso", "waist", "torso"),
    ("head", "torso", "head"),
    ("upper_arm_l", "torso", "arm_l"),
    ("forearm_l", "upper_arm_l", "arm_l"),
    ("hand_l", "forearm_l", "arm_l"),
    ("upper_arm_r", "torso", "arm_r"),
    ("forearm_r", "upper_arm_r", "arm_r"),
    ("hand_r", "forearm_r", "arm_r"),
    ("thigh_l", "waist", "leg_l"),
    ("shank_l", "thigh_l", "leg_l"),
    ("foot_l", "shank_l", "leg_l"),
    ("thigh_r", "waist", "leg_r"),
    ("shank_r", "thigh_r", "leg_r"),
    ("foot_r", "shank_r", "leg_r"),
)
BONE_IDS: tuple[str, ...] = tuple(name for name, _, _ in BONE_TREE)
"""Also the region ids: region i rides bone i."""


def without_side(bone: str) -> str:
    """`thigh` for `thigh_l`."""
    return bone.removesuffix("_l").removesuffix("_r")


@dataclass(frozen=True, slots=True, eq=False)
class Bone:
    """One rigid link in the standing pose, with the region of the figure it carries."""

    id: str
    controller: Controller
    parent: str | None
    start: Points
    """(2,), the joint it turns about. The waist starts at the hip centre and ends at the
    navel line; the torso starts there and ends at the neck; feet start at the ankle."""
    end: Points
    """(2,)"""
    region: Shape
    """The part of the figure silhouette nearest to this bone; the regions partition the
    silhouette."""
    body: Shape
    """The bare body under the armour: an inset of the region, always touching the joint."""


@dataclass(frozen=True, slots=True, eq=False)
class Figure:
    """The standing character; `bones` follow BONE_TREE, always all fifteen."""

    silhouette: Shape
    bones: tuple[Bone, ...]
    source: str = ""
    warnings: tuple[str, ...] = ()

    @property
    def height(self) -> float:
        """Height of the silhouette in drawing units."""
        return float(self.silhouette.bounds[3] - self.silhouette.bounds[1])
