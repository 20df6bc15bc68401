"""How far things on the stage are from each other, with slopes, moment by moment."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from panelbeater.geometry.distance import DistanceGrid, distance_grid
from panelbeater.geometry.frames import apply
from panelbeater.geometry.overlay import joined
from panelbeater.paths.crowd import PARTS, Crowd
from panelbeater.terms.arrays import Affines, Floats, Ints, Points
from panelbeater.terms.drawing import Shape

N_POINTS = 40
"""Of an outline: an eighth of its width apart or less, and the other's count, too."""
N_CELLS = 80
"""Of a grid: half a cell is less than a hundredth of the thing."""

CACHED = 2**16
"""Numbers in a row that are worked on at a time."""


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """Signed distance from one thing at some moments, negative inside."""

    grids: tuple[DistanceGrid, ...]
    """Its shapes; of a piece that does not change there is one."""
    of: Ints
    """(n_moments,), which shape it has."""
    from_stage: Affines
    """(n_moments, 3, 3), into the frame of the grids."""

    def during(self, rows: Ints) -> Field:
        """Some of the moments."""
        return Field(self.grids, self.of[rows], self.from_stage[rows])

    def _runs(self, size: int) -> list[Ints]:
        """Moments of one shape on end, so few that `size` numbers each stay in the cache,
        which takes a third of the time.
        """
        most = max(1, CACHED // size)
        runs = np.split(np.arange(len(self.of)), np.flatnonzero(np.diff(self.of)) + 1)
        return [run[k : k + most] for run in runs for k in range(0, len(run), most)]

    def look_up(self, points: Points) -> tuple[Floats, Points]:
        """Distance (n_moments, ...) and slope (n_moments, ..., 2) at stage points
        (n_moments, ..., 2), drawing units. Where a thing is stretched the distance is that
        of a thing stretched evenly.
        """
        distance, slope = np.zeros(points.shape[:-1]), np.zeros_like(points)
        linear = self.from_stage[:, :2, :2]
        grown = 1 / np.sqrt(np.abs(np.linalg.det(linear)))  # (n_moments,)
        for rows in self._runs(points[0].size):
            grid = self.grids[self.of[rows[0]]]
            local = _mapped(self.from_stage[rows], points[rows])
            far, lean = grid.at(local)
            size = grown[rows].reshape(-1, *[1] * (far.ndim - 1))
            distance[rows] = far * size
            slope[rows] = np.einsum(
                "m...i,mij->m...j", lean * size[..., None], linear[rows]
            )
        return distance, slope


def _mapped(transforms: Affines, points: Points) -> Points:
    """Points (n_moments, ..., 2) by one transform (n_moments, 3, 3) a moment."""
    flat = points.reshape(len(points), -1, 2)
    return apply(transforms, flat).reshape(points.shape)


@dataclass(frozen=True, slots=True, eq=False)
class Thing:
    """A piece or a limb at some moments, where it is before it is led."""

    points: Points
    """(n_moments, N_POINTS, 2), evenly along its outline, stage frame."""
    field: Field

    def during(self, rows: Ints) -> Thing:
        """Some of the moments."""
        return Thing(self.points[rows], self.field.during(rows))


def piece_at(crowd: Crowd, piece: int, at: Ints) -> Thing:
    """A piece at moments `at`."""
    shapes, of = list[BaseGeometry](), []
    for moment in (at // PARTS).tolist():
        shape = crowd.outlines[moment][piece]
        if not shapes or shape is not shapes[-1]:
            shapes.append(shape)
        of.append(len(shapes) - 1)
    placed = crowd.placed[at, piece]
    points = _mapped(placed, np.array([_along(shape) for shape in shapes])[of])
    from_stage: Affines = np.asarray(np.linalg.inv(placed), dtype=np.float64)
    return Thing(points, Field(_grids(shapes), np.array(of), from_stage))


def limb_at(crowd: Crowd, bones: Sequence[int], at: Ints) -> Thing:
    """Some bones' bare bodies at moments `at`."""
    shapes = [joined([crowd.bodies[m][bone] for bone in bones]) for m in at.tolist()]
    return Thing(np.array([_along(shape) for shape in shapes]), _still(shapes))


def carriers_at(
    crowd: Crowd, led: Sequence[int], barred: Sequence[set[int]], at: Ints
) -> Field:
    """All that may carry led pieces: what is not led itself, without bones that are
    `barred` at that moment.
    """
    others = np.delete(np.arange(crowd.placed.shape[1]), led).tolist()
    none = np.zeros(2)
    shapes = []
    for m, bones in zip(at.tolist(), barred, strict=True):
        bodies = [body for k, body in enumerate(crowd.bodies[m]) if k not in bones]
        shapes.append(joined([*bodies, *(crowd.shape(m, k, none) for k in others)]))
    return _still(shapes)


def _still(shapes: Sequence[BaseGeometry]) -> Field:
    """Shapes where they stand on the stage, one a moment."""
    stage = np.tile(np.eye(3), (len(shapes), 1, 1))
    return Field(_grids(shapes), np.arange(len(shapes)), stage)


def _grids(shapes: Sequence[BaseGeometry]) -> tuple[DistanceGrid, ...]:
    return tuple(distance_grid(cast(Shape, shape), n_cells=N_CELLS) for shape in shapes)


def _along(shape: BaseGeometry) -> Points:
    """(N_POINTS, 2), corners and what lies between them, evenly."""
    rim = shapely.boundary(shape)
    fine = shapely.get_coordinates(shapely.segmentize(rim, rim.length / (4 * N_POINTS)))
    out: Points = fine[np.linspace(0, len(fine) - 1, N_POINTS).astype(np.int64)]
    return out
