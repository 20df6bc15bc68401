"""Keeps the bare body above the ground line."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.geometry.frames import apply
from panelbeater.kinematics.chain import Skeleton, stage_from_bones
from panelbeater.kinematics.moments import pose_between
from panelbeater.terms.arrays import Floats
from panelbeater.terms.pose import Pose


def sunk(skeleton: Skeleton, pose: Pose, ground: float) -> Floats:
    """(n_frames,): how far the lowest point of any bare body lies below the ground line."""
    frames = stage_from_bones(skeleton, pose)
    lowest = np.full(len(pose.root), -np.inf)
    for bone, body in enumerate(skeleton.bodies):
        points = shapely.get_coordinates(body) * pose.scales[:, bone, None, :]  # (f, n, 2)
        for frame in range(len(lowest)):
            y = apply(frames[frame, bone], points[frame])[:, 1].max()
            lowest[frame] = max(lowest[frame], y)
    return np.maximum(0.0, lowest - ground)


def sunk_between(skeleton: Skeleton, pose: Pose, ground: float, allowed: float) -> Floats:
    """(n_frames,): how much deeper than `allowed` the lowest point lies below the ground
    line half-way to the frame before or after: what turns dips between frames.
    """
    deep = sunk(skeleton, pose_between(pose, 2), ground)[1::2] - allowed
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
