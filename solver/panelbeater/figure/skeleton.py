"""Put the landmarks together into fifteen bones, and let drawn bones have their say."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias

import numpy as np
import shapely

from panelbeater.figure import canon
from panelbeater.figure.arms import find_arm
from panelbeater.figure.legs import find_leg
from panelbeater.figure.sheet import Sheet
from panelbeater.figure.trunk import Trunk, find_trunk
from panelbeater.terms.arrays import Points
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import BONE_TREE

Skeleton: TypeAlias = dict[str, Points]
"""Bone id to (2, 2): start and end, body frame."""

_CHILDREN: dict[str, tuple[str, ...]] = {
    "waist": ("torso",), "torso": ("head",),
    **{f"{a}_{s}": (f"{b}_{s}",) for s in "lr" for a, b in (
        ("upper_arm", "forearm"), ("forearm", "hand"), ("thigh", "shank"), ("shank", "foot")
    )},
}  # fmt: skip
"""Bones whose start is the end of the bone before."""
EVEN = 0.9
"""Overlap with the mirror image from which a figure is meant to be symmetric."""


def fit_skeleton(sheet: Sheet, *, symmetry: float) -> tuple[Skeleton, Trunk]:
    """Fit all fifteen bones to the ruled figure; symmetric figures get symmetric bones."""
    trunk = find_trunk(sheet)
    arms = {side: find_arm(sheet, trunk, left=side == "l") for side in "lr"}
    legs = {side: find_leg(sheet, trunk, left=side == "l") for side in "lr"}
    if symmetry > EVEN:
        arms, legs = _evened(arms), _evened(legs)
    hip = np.array([(legs["l"][0, 0] + legs["r"][0, 0]) / 2, trunk.hip])
    neck = np.array([0.0, trunk.neck])
    navel = hip + canon.NAVEL_SHARE * (neck - hip)
    bones: Skeleton = {
        "waist": np.array([hip, navel]),
        "torso": np.array([navel, neck]),
        "head": np.array([neck, [0.0, trunk.crown]]),
    }
    for side in "lr":
        for names, joints in (
            (("upper_arm", "forearm", "hand"), arms[side]),
            (("thigh", "shank", "foot"), legs[side]),
        ):
            for k, name in enumerate(names):
                bones[f"{name}_{side}"] = joints[k : k + 2].copy()
    return {name: bones[name] for name, _, _ in BONE_TREE}, trunk


def _evened(joints: dict[str, Points]) -> dict[str, Points]:
    """Mean of each side and the mirrored other side."""
    left = (joints["l"] + joints["r"] * (-1.0, 1.0)) / 2
    return {"l": left, "r": left * (-1.0, 1.0)}


def with_given(fitted: Skeleton, given: Mapping[str, Points]) -> Skeleton:
    """Replace fitted bones by drawn ones and move their fitted neighbours to meet them.

    `given` maps bone ids to (2, 2) end points in any order; the end nearer to where the
    fitted bone starts becomes the start.
    """
    bones = {name: ends.copy() for name, ends in fitted.items()}
    for name, _, _ in BONE_TREE:
        if name in given:
            bones[name] = _oriented(name, given, fitted)
    for name, _, _ in BONE_TREE:
        for child in _CHILDREN.get(name, ()):
            if name in given and child not in given:
                bones[child][0] = bones[name][1]
            elif child in given and name not in given:
                bones[name][1] = bones[child][0]
    return bones


def _oriented(name: str, given: Mapping[str, Points], fitted: Skeleton) -> Points:
    ends = np.asarray(given[name], dtype=np.float64)
    before = next((b for b, children in _CHILDREN.items() if name in children), None)
    anchor = fitted[name]
    as_drawn = np.hypot(*(ends - anchor).T).sum()
    turned = np.hypot(*(ends[::-1] - anchor).T).sum()
    if before is not None and before in given:
        # A drawn chain meets end to end: trust that over the fitted direction.
        joint = given[before]
        gap = np.hypot(*(ends[:, None] - joint[None]).transpose(2, 0, 1)).min(axis=1)
        if abs(gap[0] - gap[1]) > 1e-6:
            as_drawn, turned = gap
    return ends if as_drawn <= turned else ends[::-1].copy()


def with_named(fitted: Skeleton, named: Mapping[str, Shape]) -> Skeleton:
    """Move joints to where drawn regions meet, and the ends of limbs into drawn ends."""
    bones = {name: ends.copy() for name, ends in fitted.items()}
    for name, parent, _ in BONE_TREE:
        if parent is not None and parent in named and name in named:
            joint = _meeting(named[parent], named[name])
            if joint is None:
                continue
            bones[name][0] = joint
            if name in _CHILDREN.get(parent, ()):
                bones[parent][1] = joint
    if {"waist", "thigh_l", "thigh_r"} <= named.keys():
        bones["waist"][0] = (bones["thigh_l"][0] + bones["thigh_r"][0]) / 2
    for name in ("head", "hand_l", "hand_r", "foot_l", "foot_r"):
        if name in named:
            middle = np.array(named[name].centroid.coords[0])
            bones[name][1] = bones[name][0] + 1.8 * (middle - bones[name][0])
    return bones


def _meeting(one: Shape, other: Shape) -> Points | None:
    """Middle of where two shapes touch or all but touch; None when they lie apart."""
    near = 0.012
    seam = one.buffer(near).intersection(other.buffer(near))
    if seam.is_empty:
        return None
    return np.array(shapely.centroid(seam).coords[0])
