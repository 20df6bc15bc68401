"""Painted areas as valid polygons: fill rules, stroke outlines, one shared grid."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely import LineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from panelbeater.geometry.frames import apply, map_shape
from panelbeater.svg.crossings import MOST_CROSSINGS, crossings
from panelbeater.svg.numbers import BadNumberError
from panelbeater.svg.paths import Subpath, read_path
from panelbeater.terms.arrays import Affines, Points
from panelbeater.terms.drawing import Shape

EMPTY: Shape = Polygon()
_CAPS: dict[str, Literal["round", "square", "flat"]] = {
    "round": "round",
    "square": "square",
}


@dataclass(frozen=True, slots=True)
class Fineness:
    """How finely a drawing is followed, drawing units."""

    tolerance: float
    """Largest distance between a curve and its polygon."""
    grid: float
    """A power of two; vertices of outlines lie on multiples of it."""

    @classmethod
    def suited_to(cls, diagonal: float) -> Fineness:
        """3e-4 of the diagonal keeps a wheel round at any size it is looked at; the grid is
        a thousand times finer, so that snapping never shows.
        """
        if diagonal < 1e-6:
            raise BadNumberError(f"all of it is {diagonal:.3g} wide; draw it larger")
        return cls(3e-4 * diagonal, 2.0 ** math.floor(math.log2(3e-7 * diagonal)))


def areas_of(geometry: BaseGeometry) -> Shape:
    """The polygons in `geometry`, lines and points left out."""
    if isinstance(geometry, Polygon | MultiPolygon):
        return geometry
    parts = [part for part in shapely.get_parts(geometry) if isinstance(part, Polygon)]
    return MultiPolygon(parts) if parts else EMPTY


def _made_valid(shape: Shape) -> Shape:
    if shape.is_valid:
        return shape
    return areas_of(shapely.make_valid(shape, method="structure", keep_collapsed=False))


def settled(geometry: BaseGeometry, grid: float) -> Shape:
    """Valid polygons with vertices on the grid.

    Areas thinner than the grid vanish. Validity by the structure method, which keeps what a
    ring goes round; it never drops a lobe of a self-touching ring as a zero buffer may.
    """
    shape = _made_valid(areas_of(geometry))  # a stroke round a spike may cross itself
    with np.errstate(all="ignore"):  # a step too short to divide by snaps to nothing
        shape = areas_of(shapely.set_precision(shape, grid))
    return areas_of(_made_valid(shape).normalize())


def united(shapes: list[Shape], grid: float) -> Shape:
    """The union of `shapes` on the grid."""
    return settled(shapely.union_all(shapes, grid_size=grid), grid)


def _winding(rings: list[Points], points: Points) -> tuple[Points, Points]:
    """Winding number and crossing count of (n, 2) points, by signed ray crossings."""
    wound, crossed = np.zeros(len(points)), np.zeros(len(points))
    x, y = points[:, :1], points[:, 1:]  # (n, 1)
    for ring in rings:
        a, b = ring, np.roll(ring, -1, axis=0)  # (m, 2)
        rises = (a[:, 1] <= y) & (b[:, 1] > y)  # (n, m)
        falls = (a[:, 1] > y) & (b[:, 1] <= y)
        side = (b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (x - a[:, 0]) * (b[:, 1] - a[:, 1])
        up, down = rises & (side > 0), falls & (side < 0)
        wound += up.sum(axis=1) - down.sum(axis=1)
        crossed += up.sum(axis=1) + down.sum(axis=1)
    return wound, crossed


def _without_dust(points: Points, grid: float) -> Points:
    """Steps of 1e-200 defeat noding and buffers; far below the grid they are no steps."""
    return np.where(np.abs(points) < 1e-3 * grid, 0.0, points)


def _refuse_scribbles(rings: list[Points]) -> None:
    if rings and crossings(rings) > MOST_CROSSINGS:
        raise BadNumberError("its outline crosses itself without end; simplify it")


def filled(rings: list[Points], rule: str, grid: float) -> Shape:
    """The area that closed rings, each (n, 2), paint by "nonzero" or "evenodd".

    The rings are noded on the grid, every face between them is kept or left by its winding
    number, and kept faces are united; this is the definition of the rule, so self-touching
    and self-crossing rings need no special care.
    """
    rings = [_without_dust(ring, grid) for ring in rings]
    rings = [ring for ring in rings if len(np.unique(ring, axis=0)) >= 3]
    if not rings:
        return EMPTY
    if len(rings) == 1:
        plain = Polygon(rings[0])
        if plain.is_valid:
            return settled(plain, grid)
    _refuse_scribbles(rings)
    closed = [LineString(np.concatenate([ring, ring[:1]])) for ring in rings]
    lines = shapely.union_all(closed, grid_size=grid)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    if not len(faces):
        return EMPTY
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    wound, crossed = _winding(rings, inside)
    kept = crossed % 2 == 1 if rule == "evenodd" else wound != 0
    return united(list(faces[kept]), grid)


@dataclass(frozen=True, slots=True)
class StrokeStyle:
    """How a stroke is drawn, lengths in the element's own units."""

    width: float
    cap: str = "butt"
    join: str = "miter"
    miter_limit: float = 4.0
    dashes: tuple[float, ...] = ()
    dash_start: float = 0.0


def stroked(
    subpaths: list[Subpath], style: StrokeStyle, matrix: Affines, fineness: Fineness
) -> Shape:
    """The area a stroke paints, in root units: drawn in the element's own frame and then
    carried over by (3, 3) `matrix`, since a skewed pen draws skewed strokes.
    """
    zoom = math.sqrt(abs(np.linalg.det(matrix[:2, :2])))
    if style.width <= 0 or zoom < 1e-9:
        return EMPTY
    tolerance = fineness.tolerance / zoom
    areas: list[BaseGeometry] = []
    flat = [_without_dust(sub.flat(tolerance), fineness.grid / zoom) for sub in subpaths]
    _refuse_scribbles(flat)
    for sub, points in zip(subpaths, flat, strict=True):
        if sub.closed:
            points = np.concatenate([points, points[:1]])
        areas += [_pen_area(run, style, tolerance) for run in _dashed(points, style)]
    return settled(map_shape(matrix, areas_of(shapely.union_all(areas))), fineness.grid)


def _dashed(points: Points, style: StrokeStyle) -> list[Points]:
    total = float(np.hypot(*np.diff(points, axis=0).T).sum()) if len(points) > 1 else 0.0
    period = sum(style.dashes)
    # More dashes than anyone can see are a mistake in the file; draw them as one line.
    if period <= 0 or min(style.dashes) < 0 or total / period > 5000:
        return [points]
    dashes = style.dashes * (2 if len(style.dashes) % 2 else 1)
    line = LineString(points)
    runs: list[Points] = []
    at, k = -(style.dash_start % sum(dashes)), 0
    while at < total:
        stop = at + dashes[k % len(dashes)]
        if k % 2 == 0 and stop > 0:
            piece = _between(line, points, max(at, 0.0), min(stop, total))
            runs += [piece] if len(piece) else []
        at, k = stop, k + 1
    return runs


def _between(line: LineString, points: Points, start: float, stop: float) -> Points:
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    ends = shapely.get_coordinates([line.interpolate(start), line.interpolate(stop)])
    middle = points[(along > start) & (along < stop)]
    return np.concatenate([ends[:1], middle, ends[1:]])


def _pen_area(points: Points, style: StrokeStyle, tolerance: float) -> Shape:
    half = style.width / 2
    steps = math.ceil(math.pi / 4 / math.acos(max(0.0, 1 - min(1.0, tolerance / half))))
    quarter = min(64, max(4, steps))
    points = points[np.concatenate([[True], np.any(np.diff(points, axis=0) != 0, axis=1)])]
    if len(points) == 1:
        # A line without length still shows its caps.
        dot = Point(points[0]).buffer(half, quarter, cap_style=_CAPS.get(style.cap, "flat"))
        return areas_of(dot) if style.cap in ("round", "square") else EMPTY
    line, cap = LineString(points), _CAPS.get(style.cap, "flat")
    if style.join == "round":
        return areas_of(line.buffer(half, quarter, cap_style=cap, join_style="round"))
    plain = line.buffer(half, quarter, cap_style=cap, join_style="bevel")
    if style.join == "bevel":
        return areas_of(plain)
    return areas_of(shapely.union_all([plain, *_mitres(points, half, style.miter_limit)]))


def _mitres(points: Points, half: float, limit: float) -> list[Polygon]:
    """The tips of mitred corners within the limit; sharper corners stay cut off, as the SVG
    specification says (the buffer of the geometry library clips them elsewhere).
    """
    if np.array_equal(points[0], points[-1]):
        points = np.concatenate([points, points[1:2]])
    steps = np.diff(points, axis=0)
    ways = steps / np.hypot(*steps.T)[:, None]
    before, after, corners = ways[:-1], ways[1:], points[1:-1]
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    half_turn = np.arctan2(cross, (before * after).sum(axis=1)) / 2
    tips = []
    for corner, way, onward, turn in zip(corners, before, after, half_turn, strict=True):
        if abs(turn) < 1e-6 or math.cos(turn) * limit < 1.0:
            continue
        side = -math.copysign(half, turn)
        first = corner + side * np.array([-way[1], way[0]])
        second = corner + side * np.array([-onward[1], onward[0]])
        tip = first + way * half * math.tan(abs(turn))
        tips.append(Polygon([corner, first, tip, second]))
    return tips


def rings_of(subpaths: list[Subpath], matrix: Affines, tolerance: float) -> list[Points]:
    """Closed rings in root units; open strokes are closed, as filling does."""
    return [sub.moved(matrix).flat(tolerance) for sub in subpaths]


def lines_of(
    subpaths: list[Subpath], matrix: Affines, tolerance: float
) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Open strokes of two or more points, in root units."""
    found = []
    for sub in subpaths:
        points = apply(matrix, sub.flat(tolerance))
        if not sub.closed and len(points) > 1:
            found.append(tuple((float(x), float(y)) for x, y in points))
    return tuple(found)


def path_area(data: str, *, rule: str, diagonal: float) -> Shape:
    """The area that path data fills by a fill rule, drawing units, as fine as a drawing of
    this diagonal asks.
    """
    fine = Fineness.suited_to(diagonal)
    subpaths, _ = read_path(data)
    return filled(rings_of(subpaths, np.eye(3), fine.tolerance), rule, fine.grid)
