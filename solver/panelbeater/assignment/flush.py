"""Slides one piece until its edges lie on those of a region, or of what is bare of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from panelbeater.assignment.candidates import PieceForm, Placement
from panelbeater.geometry.distance import DistanceGrid, distance_grid
from panelbeater.geometry.frames import map_shape, moved, rigid
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import Bone

N_TURNS = 36
N_POINTS = 32
"""Points along the outline of a piece; 48 took a quarter longer and found no more."""
CELLS = 24
"""Of the distance grid, in a step of the raster. With 12, one jigsaw of five came out
right, with 24 four."""
N_STARTS = 24
"""Turned spots of the raster that are let slide into place."""
NEAR = (1.5, 1.0, 1.0, 0.6, 0.6, 0.4, 0.3, 0.2, 0.1, 0.1)
"""How far an edge feels the border at each stride, in steps of the raster."""
FLUSH = 0.05
"""An edge within so many steps of the border lies on it."""
LEAST = 0.3
"""Share of the outline on the border below which nothing was won by sliding."""


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """Outline of a piece as drawn, in its own frame."""

    form: PieceForm
    points: Points
    """(n_points, 2), at equal distances along the outline."""

    @staticmethod
    def of(form: PieceForm) -> Edges:
        """Points on the outer rings."""
        shape = map_shape(_placed(form, np.zeros(1), np.zeros((1, 2)))[0], form.outline)
        rings = [part.exterior for part in shapely.get_parts(shape)]
        whole = sum(ring.length for ring in rings)
        points = []
        for ring in rings:
            n = max(4, round(N_POINTS * ring.length / whole))
            at = shapely.line_interpolate_point(
                ring, (np.arange(n) + 0.5) / n, normalized=True
            )
            points.append(shapely.get_coordinates(at))
        return Edges(form, np.concatenate(points))

    def laid(self, turn: Floats, spot: Points) -> tuple[Floats, Floats]:
        """X and y (m, n_points) of the points turned by (m,), centroid on spots (m, 2)."""
        cos, sin = np.cos(turn)[:, None], np.sin(turn)[:, None]
        x, y = self.points.T
        return cos * x - sin * y + spot[:, :1], sin * x + cos * y + spot[:, 1:]


@dataclass(frozen=True, slots=True, eq=False)
class Border:
    """A region, or what is bare of it, to lay pieces along."""

    index: int
    bone: Bone
    grid: DistanceGrid
    spots: Points
    """(n_spots, 2), raster inside it."""
    step: float

    @staticmethod
    def of(index: int, bone: Bone, shape: Shape, step: float) -> Border:
        """Measure a shape that is not empty."""
        x0, y0, x1, y1 = shape.bounds
        n_cells = int(np.ceil(CELLS * max(x1 - x0, y1 - y0) / step))
        grid = distance_grid(shape, n_cells=n_cells)
        xs, ys = np.arange(x0, x1 + step, step), np.arange(y0, y1 + step, step)
        spots = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
        return Border(index, bone, grid, spots[grid.at(spots)[0] < step], step)


def flush_placements(
    edges: Edges, border: Border, ground: float, n_best: int
) -> list[Placement]:
    """The piece as drawn, slid from many turned spots until its edges lie on the border;
    the best few that differ.
    """
    turn, spot = _starts(edges, border)
    turn, spot = _slid(edges, border, turn, spot)
    distance = border.grid.look_up(*edges.laid(turn, spot))[0] / border.step
    share = (np.abs(distance) < FLUSH).mean(axis=1)
    share -= 2 * np.maximum(distance, 0).mean(axis=1)
    found: list[Placement] = []
    taken: list[int] = []
    for k in np.argsort(-share, kind="stable"):
        if share[k] < LEAST or len(found) == n_best:
            break
        if any(_is_same(edges, turn, spot, k, j, border.step) for j in taken):
            continue
        taken.append(k)
        place = _placement(edges.form, border, turn[k], spot[k], float(share[k]), ground)
        if place.outline.intersects(border.bone.body):
            found.append(place)
    return found


def _starts(edges: Edges, border: Border) -> tuple[Floats, Points]:
    """Turns (m,) and spots (m, 2) where most of the outline is near the border."""
    turns = np.zeros(1) if edges.form.is_round else np.arange(N_TURNS) * 2 * np.pi / N_TURNS
    x, y = edges.laid(turns, np.zeros((len(turns), 2)))
    grid, step = border.grid, border.step
    rows, columns = grid.values.shape
    column = np.round((x[:, None] + border.spots[:, :1] - grid.origin[0]) / grid.cell)
    row = np.round((y[:, None] + border.spots[:, 1:] - grid.origin[1]) / grid.cell)
    at = row.clip(0, rows - 1).astype(np.int64) * columns
    at += column.clip(0, columns - 1).astype(np.int64)
    distance = (grid.values / step).astype(np.float32).ravel()[at]  # (turns, spots, points)
    score = (np.abs(distance) < 0.6).mean(axis=2) - 2 * np.maximum(distance, 0).mean(axis=2)
    best = np.argsort(-score, axis=None, kind="stable")[:N_STARTS]
    which, where = np.divmod(best, len(border.spots))
    return turns[which], border.spots[where]


def _slid(
    edges: Edges, border: Border, turn: Floats, spot: Points
) -> tuple[Floats, Points]:
    """Least squares on the distances of what is near the border, nearer at each stride."""
    reach = edges.form.extent
    for near in NEAR:
        near *= border.step
        x, y = edges.laid(turn, spot)
        distance, over, down = border.grid.look_up(x, y)
        beyond = np.maximum(distance - 2 * near, 0) / 2  # what sticks out far may have to
        pull = np.exp(-((np.where(distance > 0, beyond, distance) / near) ** 2))
        around = (down * (x - spot[:, :1]) - over * (y - spot[:, 1:])) / reach
        slope = np.stack([over, down, around], axis=-1)  # (m, n_points, 3)
        weighed = (slope * pull[..., None]).transpose(0, 2, 1)
        normal = weighed @ slope + 0.004 * len(edges.points) * np.eye(3)
        stride = np.linalg.solve(normal, weighed @ distance[..., None])[..., 0]
        stride = stride.clip(-near, near)
        spot, turn = spot - stride[:, :2], turn - stride[:, 2] / reach
    return turn, spot


def _is_same(
    edges: Edges, turn: Floats, spot: Points, one: int, two: int, step: float
) -> bool:
    x, y = edges.laid(turn[[one, two]], spot[[one, two]])
    return bool(np.hypot(x[0] - x[1], y[0] - y[1]).max() < 0.3 * step)


def _placed(form: PieceForm, turn: Floats, spot: Points) -> Floats:
    """(m, 3, 3), as near to drawn as the piece may be."""
    place = rigid(spot, turn)
    place[:, :2, :2] @= form.ways[0]
    return place


def _placement(
    form: PieceForm, border: Border, turn: float, spot: Points, share: float, ground: float
) -> Placement:
    place = _placed(form, np.array([turn]), spot[None])[0]
    outline = map_shape(place, form.outline)
    low = outline.bounds[3] - ground
    if low > 0:
        place[1, 2] -= low
        outline = map_shape(moved(0, -low), outline)
    scale, stretch = form.shapes[0]
    return Placement(
        form.index, border.index, place, float(scale), float(max(stretch, 1 / stretch)),
        outline, share,
    )  # fmt: skip
