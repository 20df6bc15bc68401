"""What carries the pieces of the vehicle until they leave it: the body inside."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from panelbeater.geometry.frames import map_shapes
from panelbeater.geometry.overlay import shared_areas
from panelbeater.kinematics.chain import Skeleton, stage_from_bones
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Pose


def bodies_by_frame(skeleton: Skeleton, pose: Pose) -> tuple[tuple[Shape, ...], ...]:
    """(n_poses)(n_bones), the bare body on the stage, prepared for being asked often."""
    placed = stage_from_bones(skeleton, pose)  # (n_poses, n_bones, 3, 3)
    placed[..., :2, :2] *= pose.scales[..., None, :]
    bodies = map_shapes(placed.reshape(-1, 3, 3), skeleton.bodies * len(placed))
    shapely.prepare(bodies)
    n_bones = len(skeleton.bodies)
    return tuple(tuple(bodies[at : at + n_bones]) for at in range(0, len(bodies), n_bones))


def waiting_bone(outline: Shape, landing: int, bodies: Sequence[Shape]) -> int:
    """The folded bone a piece waits on: its own if that carries it, else the trunk, else
    the one it hides most of, else the nearest.
    """
    shared = shared_areas(outline, np.array(bodies, dtype=object))
    for bone in (landing, BONE_IDS.index("torso"), BONE_IDS.index("waist")):
        if shared[bone] > 0:
            return bone
    if shared.max() > 0:
        return int(shared.argmax())
    return int(shapely.distance(outline, np.array(bodies, dtype=object)).argmin())
