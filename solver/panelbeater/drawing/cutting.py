"""Straight cuts through an outline, placed where a panel beater would put a seam."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Polygon

from panelbeater.svg import areas_of
from panelbeater.terms.arrays import Points
from panelbeater.terms.drawing import Shape

REACH = 0.15
"""A natural seam may lie this far, as a share of the area, from the even cut."""
LEAST_SHARE = 0.02
"""Smaller offcuts are crumbs; they stay on the neighbour."""
SHARP = math.radians(20)
"""Corners that turn inwards by more than this are steps of the outline."""
UPRIGHT = math.radians(12)
"""Cuts this close to upright or level are made so: seams of panels are."""


SNUG = 0.6
"""A leaning outline fills its upright box by less than this, measured by its own."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What counts as small enough; drawing units."""

    largest_area: float
    longest: float
    thinnest: float
    """Least width of an offcut."""


def box_sides(shape: Shape) -> tuple[float, float, Points]:
    """Long and short side of the minimum rotated rectangle, and its long axis (2,)."""
    box = shapely.minimum_rotated_rectangle(shape)
    if not isinstance(box, Polygon) or box.is_empty:
        return 0.0, 0.0, np.array([1.0, 0.0])
    corners = np.asarray(box.exterior.coords)
    first, second = corners[1] - corners[0], corners[2] - corners[1]
    lengths = float(np.hypot(*first)), float(np.hypot(*second))
    long = first if lengths[0] >= lengths[1] else second
    return max(lengths), min(lengths), long / max(max(lengths), 1e-12)


def n_parts_needed(shape: Shape, limits: Limits) -> int:
    """How many parts an outline must at least fall into."""
    long_side = box_sides(shape)[0]
    by_area = math.ceil(shape.area / limits.largest_area - 1e-9)
    return max(1, by_area, math.ceil(long_side / limits.longest - 1e-9))


def _cutting_axis(polygon: Polygon) -> Points:
    """The long axis, made level or upright unless the outline leans as a strut does."""
    long_side, short, axis = box_sides(polygon)
    x0, y0, x1, y1 = polygon.bounds
    leans = long_side * short < SNUG * (x1 - x0) * (y1 - y0) and long_side > 2 * short
    if leans:
        return _upright(axis)
    return np.array([1.0, 0.0]) if x1 - x0 >= y1 - y0 else np.array([0.0, 1.0])


def _upright(axis: Points) -> Points:
    angle = math.atan2(axis[1], axis[0])
    nearest = round(angle / (math.pi / 2)) * (math.pi / 2)
    if abs(angle - nearest) > UPRIGHT:
        return axis if axis[0] > 0 or (axis[0] == 0 and axis[1] > 0) else -axis
    return (
        np.array([0.0, 1.0]) if round(angle / (math.pi / 2)) % 2 else np.array([1.0, 0.0])
    )


def _inward_corners(polygon: Polygon) -> Points:
    """(n, 2) corners where the outline turns into the area by a sharp step."""
    found = []
    oriented = shapely.geometry.polygon.orient(polygon)
    for ring in (oriented.exterior, *oriented.interiors):
        points = np.asarray(ring.coords)[:-1]
        before, after = (
            points - np.roll(points, 1, axis=0),
            np.roll(points, -1, axis=0) - points,
        )
        cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
        turn = np.arctan2(cross, (before * after).sum(axis=1))
        found.append(points[turn < -SHARP])
    return np.concatenate(found)


def _natural_seams(polygon: Polygon, over: list[Shape], axis: Points) -> list[float]:
    """Positions along `axis` where a cut would follow something drawn."""
    spots = [_inward_corners(polygon) @ axis]
    for outline in over:
        shared = areas_of(outline.intersection(polygon))
        if shared.area > LEAST_SHARE * polygon.area:
            along = shapely.get_coordinates(shared) @ axis
            spots.append(np.array([along.min(), along.max()]))
    return sorted({round(float(spot), 9) for spot in np.concatenate(spots)})


def _area_before(polygon: Polygon, axis: Points, at: float) -> float:
    """Area of the part whose places along `axis` are less than `at`."""
    size = 4 * float(np.abs(polygon.bounds).max()) + 1.0
    across = np.array([-axis[1], axis[0]])
    corner = at * axis
    half = Polygon(
        [
            corner - size * across,
            corner + size * across,
            corner + size * across - size * axis,
            corner - size * across - size * axis,
        ]
    )
    return float(polygon.intersection(half).area)


def _even_cut(polygon: Polygon, axis: Points, share: float) -> float:
    along = shapely.get_coordinates(polygon) @ axis
    low, high = float(along.min()), float(along.max())
    for _ in range(40):
        middle = (low + high) / 2
        if _area_before(polygon, axis, middle) < share * polygon.area:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def fine_grid(shape: Shape) -> float:
    """A power of two near the last digits that coordinates of `shape` can carry."""
    return 2.0 ** math.floor(
        math.log2(1e-12 * max(1e-6, float(np.abs(shape.bounds).max())))
    )


def _severed(polygon: Polygon, axis: Points, at: float, thinnest: float) -> list[Polygon]:
    """The parts on either side of a cut; crumbs stay on the neighbour they touch most."""
    size = 4 * float(np.abs(polygon.bounds).max()) + 1.0
    across = np.array([-axis[1], axis[0]])
    line = LineString([at * axis - size * across, at * axis + size * across])
    lines = shapely.union_all([polygon.boundary, line], grid_size=fine_grid(polygon))
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    parts = [face for face in faces if polygon.covers(face.point_on_surface())]
    while len(parts) > 1:
        crumb = min(parts, key=lambda part: (part.area, part.bounds))
        thin = [part for part in parts if box_sides(part)[1] < thinnest]
        if crumb.area >= LEAST_SHARE * polygon.area:
            if not thin:
                break
            crumb = thin[0]
        others = [part for part in parts if part is not crumb]
        edge = crumb.boundary
        mate = max(others, key=lambda part: edge.intersection(part.boundary).length)
        joined = shapely.union_all([mate, crumb])
        if not isinstance(joined, Polygon):
            break
        parts = [part for part in others if part is not mate] + [joined]
    return parts


def _cut_once(
    polygon: Polygon, share: float, over: list[Shape], limits: Limits
) -> list[Polygon]:
    """Two or more parts, the first side near `share`; only one when no cut is sound."""
    thinnest = min(limits.thinnest, 0.5 * box_sides(polygon)[1])
    axis = _cutting_axis(polygon)
    for way in (axis, np.array([-axis[1], axis[0]])):
        seams = _natural_seams(polygon, over, way)
        spots = [
            (abs(_area_before(polygon, way, at) / polygon.area - share), at) for at in seams
        ]
        tries = [at for off, at in sorted(spots) if off <= REACH]
        shifts = [0.0, *(sign * step / 20 for step in range(1, 7) for sign in (1, -1))]
        shares = [share + shift for shift in shifts if 0.05 < share + shift < 0.95]
        for at in tries:
            parts = _severed(polygon, way, at, thinnest)
            if _is_sound(parts, polygon, thinnest, share):
                return parts
        for other in shares:
            parts = _severed(polygon, way, _even_cut(polygon, way, other), thinnest)
            if _is_sound(parts, polygon, thinnest, share):
                return parts
    return [polygon]


def _is_sound(
    parts: list[Polygon], polygon: Polygon, thinnest: float, share: float
) -> bool:
    if len(parts) < 2:
        return False
    largest = max(part.area for part in parts) / polygon.area
    return largest <= max(share, 1 - share) + 2.5 * REACH and all(
        part.area >= LEAST_SHARE * polygon.area and box_sides(part)[1] >= thinnest
        for part in parts
    )


def cut_polygon(
    polygon: Polygon, over: list[Shape], limits: Limits, n_least: int = 1
) -> list[Polygon]:
    """Parts of `polygon` that all fit `limits`, at least `n_least` where it can be cut.

    `over` are outlines that lie on it: their edges are natural seams.
    """
    n = max(n_least, n_parts_needed(polygon, limits))
    if n < 2:
        return [polygon]
    parts = _cut_once(polygon, (n // 2) / n, over, limits)
    if len(parts) < 2:
        return [polygon]
    return [small for part in parts for small in cut_polygon(part, over, limits)]


def shared_edges(parts: list[Polygon]) -> list[Polygon]:
    """The same parts, meeting edge to edge: a corner of one is a corner of its neighbour.

    Their union then leaves no cracks.
    """
    if len(parts) < 2:
        return parts
    grid = fine_grid(areas_of(shapely.union_all(parts)))
    lines = shapely.union_all([part.boundary for part in parts], grid_size=grid)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    spots = [face.point_on_surface() for face in faces]
    noded: list[Polygon] = []
    for part in parts:
        own = [face for face, spot in zip(faces, spots, strict=True) if part.covers(spot)]
        whole = shapely.union_all(own)
        noded.append(whole if isinstance(whole, Polygon) and not whole.is_empty else part)
    return noded
