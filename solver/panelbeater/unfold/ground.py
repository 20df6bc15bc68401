"""Keeps the bare body above the ground line."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from panelbeater.geometry.frames import apply
from panelbeater.kinematics.chain import Skeleton, stage_from_bones
from panelbeater.kinematics.moments import pose_between
from panelbeater.terms.arrays import Floats
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Pose

ALL = tuple(range(len(BONE_IDS)))
PARTS = 8
"""Moments a frame that are looked at: a foot that turns by a radian dips for a fifth."""


def sunk(
    skeleton: Skeleton, pose: Pose, ground: float, bones: Sequence[int] = ALL
) -> Floats:
    """(n_frames,): how far the lowest point of any of these bare bodies lies below the
    ground line.
    """
    frames = stage_from_bones(skeleton, pose)
    lowest = np.full(len(pose.root), -np.inf)
    for bone in bones:
        points = shapely.get_coordinates(skeleton.bodies[bone])  # (n, 2)
        points = points * pose.scales[:, bone, None, :]  # (f, n, 2)
        y = apply(frames[:, bone], points)[..., 1]
        lowest = np.maximum(lowest, y.max(axis=1))
    return np.maximum(0.0, lowest - ground)


def sunk_between(
    skeleton: Skeleton,
    pose: Pose,
    ground: float,
    allowed: float,
    bones: Sequence[int] = ALL,
) -> Floats:
    """(n_frames,): how much deeper than `allowed` the lowest point lies below the ground
    line on the way to the frame before or after: what turns dips between frames.
    """
    moments = sunk(skeleton, pose_between(pose, PARTS), ground, bones)
    deep = np.max([moments[part::PARTS] for part in range(1, PARTS)], axis=0) - allowed
    out: Floats = np.maximum(0.0, np.maximum(np.append(deep, 0.0), np.append(0.0, deep)))
    return out


def widened(need: Floats) -> Floats:
    """A smooth hill that is nowhere below the need, so that a lift has no corners."""
    reach = 6
    padded = np.pad(need, reach)
    peak = np.max([padded[k : k + len(need)] for k in range(2 * reach + 1)], axis=0)
    kernel = np.hanning(2 * reach + 3)[1:-1]
    return np.convolve(
        np.pad(peak, reach, mode="edge"), kernel / kernel.sum(), mode="valid"
    )
