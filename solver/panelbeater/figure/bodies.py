"""Draw the bare body that shows between the pieces: one slim, rounded shape a bone."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import shapely
from shapely import LineString, Polygon, box

from panelbeater.figure.sheet import as_shape
from panelbeater.figure.skeleton import Skeleton
from panelbeater.terms.arrays import Points
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import BONE_TREE

_INSET = 0.25
"""Share of a region's half-width that the armour stands proud of the body."""
_CORE = 0.3
"""Radius of the rod along the bone, as a share of the same half-width."""
_MOST_VERTICES = 40
_TIPS = ("head", "hand_l", "hand_r", "foot_l", "foot_r")


def shape_bodies(regions: Mapping[str, Shape], bones: Skeleton) -> dict[str, Shape]:
    """Body of every bone, body frame: one polygon without holes, at most 40 vertices.

    A parent reaches out to the joints of its children (collar bone, pelvis), so that all
    bodies hang together at the joints; none reaches below the silhouette's lowest point.
    """
    floor = max(region.bounds[3] for region in regions.values())
    above = box(-100.0, -100.0, 100.0, floor)
    width = {name: _half_width(region) for name, region in regions.items()}
    out: dict[str, Shape] = {}
    for name, _, _ in BONE_TREE:
        radius = _CORE * width[name]
        rods = [_rod(_held_back(bones[name], radius, tip=name in _TIPS), radius)]
        for child, parent, _ in BONE_TREE:
            if parent == name:
                slim = _CORE * min(width[name], width[child])
                rods += _reach(bones[name], bones[child][0], slim)
        out[name] = _plain([_inset(regions[name], width[name], rods[0]), *rods], above)
    return out


def _half_width(region: Shape) -> float:
    """Radius of the largest circle in the region."""
    biggest = max(shapely.get_parts(region), key=lambda p: p.area)
    return float(shapely.maximum_inscribed_circle(biggest, tolerance=2e-3).length)


def _inset(region: Shape, width: float, rod: Polygon) -> shapely.Geometry:
    """The region drawn in and rounded: the part of it that the bone runs through."""
    slim = region.buffer(-2 * _INSET * width, quad_segs=4)
    slim = slim.buffer(_INSET * width, quad_segs=4)
    parts = sorted(shapely.get_parts(slim), key=lambda p: (-p.area, p.bounds))
    touching = [p for p in parts if p.intersects(rod)]
    return touching[0] if touching else rod


def _held_back(ends: Points, radius: float, *, tip: bool) -> Points:
    """Shorten the last bone of a limb so that its rounded end stays in the drawing."""
    length = float(np.hypot(*(ends[1] - ends[0])))
    if not tip or length <= 2 * radius:
        return ends
    return np.array([ends[0], ends[1] - (ends[1] - ends[0]) * radius / length])


def _rod(ends: Points, radius: float) -> Polygon:
    return _polygon(LineString(ends).buffer(radius, quad_segs=4))


def _reach(ends: Points, joint: Points, radius: float) -> list[Polygon]:
    """A rod from the bone to a child's joint that lies off it."""
    along = ends[1] - ends[0]
    share = np.clip((joint - ends[0]) @ along / max(float(along @ along), 1e-12), 0.0, 1.0)
    foot = ends[0] + share * along
    if float(np.hypot(*(joint - foot))) < 1e-6:
        return []
    return [_rod(np.array([foot, joint]), radius)]


def _plain(parts: list[shapely.Geometry], above: Polygon) -> Polygon:
    """Unite, clip at the floor, fill holes and thin the vertices out."""
    joined = as_shape(shapely.union_all(parts).intersection(above))
    biggest = max(shapely.get_parts(joined), key=lambda p: p.area)
    whole = _polygon(Polygon(biggest.exterior))
    tolerance = 5e-4
    slim = whole
    while len(slim.exterior.coords) - 1 > _MOST_VERTICES:
        slim = _polygon(whole.simplify(tolerance))
        tolerance *= 1.5
    return slim


def _polygon(geometry: shapely.Geometry) -> Polygon:
    parts = shapely.get_parts(as_shape(geometry))
    return Polygon(max(parts, key=lambda p: p.area))
