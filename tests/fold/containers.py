"""Invented containers for a folded body 100 tall, and a chain of bones walked by hand."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Point, Polygon, affinity, box

from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Pose


def _joined(parts: list[Polygon]) -> Polygon:
    whole = shapely.union_all(parts)
    assert isinstance(whole, Polygon)
    return whole


OPEN_BOX = _joined([box(0, 40, 150, 75), box(0, 0, 45, 40), box(115, 0, 150, 40)])
L_SHAPE = Polygon([(0, 0), (60, 0), (60, 70), (140, 70), (140, 115), (0, 115)])
THIN_SLAB = box(0, 0, 150, 20)
VAN = _joined(
    [
        Polygon([(0, 60), (0, 6), (60, 0), (88, 4), (112, 34), (132, 40), (134, 60)]),
        Point(28, 60).buffer(13),
        Point(106, 60).buffer(13),
    ]
)
SHORT_TRUNK = box(0, 0, 75, 30)
NEEDLE = box(0, 0, 300, 4)
LORRY = _joined([box(0, 0, 70, 14), box(74, 0, 104, 14), box(70, 11, 74, 14)])
"""A low load and a cab, coupled by less than a limb is wide."""
CONTAINERS: dict[str, Shape] = {
    "open box": OPEN_BOX, "L shape": L_SHAPE, "thin slab": THIN_SLAB,
    "short trunk": SHORT_TRUNK, "van": VAN,
}  # fmt: skip


def leak_by_hand(figure: Figure, pose: Pose, container: Shape) -> float:
    """Share of the body outside, by walking the bones one by one with plain turns and
    moves.
    """
    joints: dict[str, tuple[float, float]] = {}
    angles: dict[str, float] = {}
    shapes = []
    drawn = {bone.id: bone for bone in figure.bones}
    for i, bone in enumerate(figure.bones):
        if bone.parent is None:
            angles[bone.id] = float(pose.turns[i])
            joints[bone.id] = (float(pose.root[0]), float(pose.root[1]))
        else:
            parent = drawn[bone.parent]
            angles[bone.id] = angles[bone.parent] + float(pose.turns[i])
            carrier = figure.bones.index(parent)
            spot = _posed(
                Point(bone.start), parent.start, _angle(parent), pose.scales[carrier],
                angles[bone.parent], joints[bone.parent],
            )  # fmt: skip
            joints[bone.id] = (spot.x, spot.y)  # type: ignore[attr-defined]
        shapes.append(
            _posed(bone.body, bone.start, _angle(bone), pose.scales[i], angles[bone.id],
                   joints[bone.id])
        )  # fmt: skip
    body = shapely.union_all(shapes)
    return float(body.difference(container).area / body.area)


def _angle(bone: object) -> float:
    along = bone.end - bone.start  # type: ignore[attr-defined]
    return float(np.arctan2(along[1], along[0]))


def _posed(
    shape: shapely.Geometry,
    start: np.ndarray,
    drawn_angle: float,
    scales: np.ndarray,
    angle: float,
    joint: tuple[float, float],
) -> shapely.Geometry:
    level = affinity.rotate(shape, -drawn_angle, origin=Point(start), use_radians=True)
    short = affinity.scale(level, float(scales[0]), float(scales[1]), origin=Point(start))
    turned = affinity.rotate(short, angle, origin=Point(start), use_radians=True)
    return affinity.translate(turned, joint[0] - start[0], joint[1] - start[1])
