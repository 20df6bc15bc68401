"""What stands there when the change is done: the whole robot, or the limbs that open."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.geometry.frames import map_shape
from panelbeater.geometry.overlay import joined
from panelbeater.geometry.stage import bone_from_standing
from panelbeater.kinematics.chain import skeleton_of, stage_from_bones
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import Bone
from panelbeater.terms.pose import Pose
from panelbeater.terms.rig import Rig


def last_pose(rig: Rig) -> tuple[Shape, list[tuple[Bone, Shape]]]:
    """Outline of the figure as the robot ends, and the regions that have opened, by bone.

    The standing figure, or, where only some limbs open, the folded body with them out.
    """
    bones = rig.figure.bones
    if not rig.shot.only:
        return rig.figure.silhouette, [(bone, bone.region) for bone in bones]
    end, row = rig.action, 0 if rig.shot.reverse else -1
    frames = stage_from_bones(
        skeleton_of(rig.figure), Pose(end.root[row], end.turns[row], end.scales[row])
    )
    squeeze = np.array([np.diag([*scale, 1.0]) for scale in end.scales[row]])
    placed = frames @ squeeze @ bone_from_standing(bones)
    shapes = [
        map_shape(transform, bone.region)
        for transform, bone in zip(placed, bones, strict=True)
    ]
    open_ = [
        (bone, shape)
        for bone, shape in zip(bones, shapes, strict=True)
        if bone.controller in rig.shot.only
    ]
    whole = joined(shapes)
    assert isinstance(whole, shapely.Polygon | shapely.MultiPolygon)
    return whole, open_
