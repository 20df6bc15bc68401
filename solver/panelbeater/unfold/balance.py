"""Weight over the feet: where the body's centre of mass is, and how far it tips over."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.geometry.frames import apply
from panelbeater.kinematics.chain import Skeleton, bodies_on_stage, stage_from_bones
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Pose


def centre_of_mass(skeleton: Skeleton, pose: Pose) -> Points:
    """(n_frames, 2), stage. Each bare body weighs as much as its standing area, also when
    it is foreshortened: it does not get lighter by pointing at us.
    """
    frames = stage_from_bones(skeleton, pose)  # (f, b, 3, 3)
    middles = shapely.get_coordinates(shapely.centroid(skeleton.bodies))  # (b, 2)
    weights = shapely.area(skeleton.bodies)
    placed = apply(frames, (middles * pose.scales)[..., None, :])[..., 0, :]  # (f, b, 2)
    out: Points = np.einsum("fbx,b->fx", placed, weights / weights.sum())
    return out


def support(skeleton: Skeleton) -> tuple[float, float]:
    """Leftmost and rightmost x of both feet as they stand."""
    bodies = bodies_on_stage(skeleton, skeleton.rest)
    feet = [body for name, body in zip(BONE_IDS, bodies, strict=True) if "foot" in name]
    x0, _, x1, _ = shapely.total_bounds(feet)
    return float(x0), float(x1)


def tipping(skeleton: Skeleton, pose: Pose) -> Floats:
    """(n_frames,): how far the centre of mass lies beyond the standing feet; right is
    above 0, left below, 0 is over them.
    """
    left, right = support(skeleton)
    x = centre_of_mass(skeleton, pose)[:, 0]
    out: Floats = np.maximum(x - right, 0.0) + np.minimum(x - left, 0.0)
    return out
