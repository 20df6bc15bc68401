"""Bone chains: where every bone of a figure is in a given pose, and how it got there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from panelbeater.geometry.frames import apply, map_shape, rigid
from panelbeater.terms.arrays import Affines, Floats, Points
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import BONE_TREE, Figure
from panelbeater.terms.pose import Pose

PARENTS: tuple[int, ...] = tuple(
    -1 if parent is None else [name for name, _, _ in BONE_TREE].index(parent)
    for _, parent, _ in BONE_TREE
)
"""(n_bones,), index of each bone's parent, -1 for the waist; parents come first."""


@dataclass(frozen=True, slots=True, eq=False)
class Skeleton:
    """The joints of a figure, ready to be posed."""

    offsets: Points
    """(n_bones, 2), each joint in its parent's bone frame, as drawn (the waist: 0, 0)."""
    lengths: Floats
    """(n_bones,), drawing units."""
    rest: Pose
    """The standing pose the figure is drawn in."""
    bodies: tuple[Shape, ...]
    """Bare body of each bone in its bone frame."""


def skeleton_of(figure: Figure) -> Skeleton:
    """Read the joints off a figure that stands on the stage."""
    starts = np.array([bone.start for bone in figure.bones])  # (n_bones, 2)
    ends = np.array([bone.end for bone in figure.bones])
    along = ends - starts
    angles = np.arctan2(along[:, 1], along[:, 0])
    stage_from_bone = rigid(starts, angles)
    bone_from_stage = np.linalg.inv(stage_from_bone)
    offsets, turns = np.zeros_like(starts), angles.copy()
    for bone, parent in enumerate(PARENTS):
        if parent >= 0:
            offsets[bone] = apply(bone_from_stage[parent], starts[bone][None])[0]
            turns[bone] = _wrapped(angles[bone] - angles[parent])
    bodies = tuple(
        map_shape(bone_from_stage[i], bone.body) for i, bone in enumerate(figure.bones)
    )
    rest = Pose(starts[0], turns, np.ones((len(PARENTS), 2)))
    return Skeleton(offsets, np.hypot(along[:, 0], along[:, 1]), rest, bodies)


def place_bones(skeleton: Skeleton, pose: Pose) -> tuple[Points, Floats]:
    """Joints (..., n_bones, 2) and angles (..., n_bones) of a pose, stage frame.

    A foreshortened parent carries its children's joints nearer: offsets shrink with its
    scales.
    """
    angles = np.empty_like(pose.turns)
    origins = np.empty((*pose.turns.shape, 2))
    for bone, parent in enumerate(PARENTS):
        if parent < 0:
            angles[..., bone] = pose.turns[..., bone]
            origins[..., bone, :] = pose.root
            continue
        angles[..., bone] = angles[..., parent] + pose.turns[..., bone]
        offset = skeleton.offsets[bone] * pose.scales[..., parent, :]
        cos, sin = np.cos(angles[..., parent]), np.sin(angles[..., parent])
        x, y = offset[..., 0], offset[..., 1]
        turned = np.stack([cos * x - sin * y, sin * x + cos * y], axis=-1)
        origins[..., bone, :] = origins[..., parent, :] + turned
    return origins, angles


def stage_from_bones(skeleton: Skeleton, pose: Pose) -> Affines:
    """(..., n_bones, 3, 3), rigid: origin at the bone's joint, x along the bone."""
    origins, angles = place_bones(skeleton, pose)
    return rigid(origins, angles)


def bodies_on_stage(skeleton: Skeleton, pose: Pose) -> tuple[Shape, ...]:
    """The bare body of each bone in one pose (no leading axes)."""
    frames = stage_from_bones(skeleton, pose)
    return tuple(
        map_shape(frames[i] @ np.diag([*pose.scales[i], 1.0]), body)
        for i, body in enumerate(skeleton.bodies)
    )


def _wrapped(angle: float) -> float:
    return float((angle + np.pi) % (2 * np.pi) - np.pi)
