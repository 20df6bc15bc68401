"""Layout cases small enough to solve by trying everything."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from statistics import median

import numpy as np
import shapely
from ortools.sat.python import cp_model
from shapely import MultiPolygon, affinity, box

from panelbeater.assignment.candidates import Placement
from panelbeater.assignment.cells import Cells
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.table import UNIT, Case, Table
from panelbeater.geometry.frames import moved
from panelbeater.terms.arrays import Floats
from panelbeater.terms.drawing import Piece, Shape
from panelbeater.terms.figure import BONE_IDS, BONE_TREE, Bone, Figure

PLAIN = AssignmentOptions(
    mirror_bonus=0.0, size_bonus=0.0, region_minimum=0.0, balance_price=0.0,
    twin_price=0.0, gap_limit=0.0,
)  # fmt: skip
"""Nothing but cover and price, to the last unit."""


def tile_figure(
    tiles: Sequence[Shape], *, speck: float = 0.01, at: float = 500.0
) -> Figure:
    """A figure whose first regions are the given tiles; the others are specks far to the
    right.

    Each body is a small copy of its region about its middle.
    """
    bones = []
    for i, (name, parent, controller) in enumerate(BONE_TREE):
        if i < len(tiles):
            region = tiles[i]
        else:
            region = box(at + 10 * i, 0, at + 10 * i + speck, speck)
        x0, y0, x1, y1 = region.bounds
        spot = region.representative_point()
        start = np.array([spot.x, spot.y])
        along = np.array([x1 - x0, 0]) if x1 - x0 > y1 - y0 else np.array([0, y1 - y0])
        body = affinity.scale(region, 0.4, 0.4, origin=spot)
        bones.append(
            Bone(name, controller, parent, start, start + 0.3 * along, region, body)
        )
    silhouette = shapely.union_all([bone.region for bone in bones])
    assert isinstance(silhouette, MultiPolygon)
    return Figure(silhouette, tuple(bones))


def one_cell_a_region(n_regions: int, weight: float) -> Cells:
    """One sample cell on each of the first regions; the others have none."""
    points = np.stack([10.0 * np.arange(n_regions), np.zeros(n_regions)], axis=1)
    return Cells(points, np.arange(n_regions), np.full(n_regions, weight))


def cells_of(figure: Figure, n_regions: int, side: int = 3) -> Cells:
    """Side x side cells on each of the first regions, weighted by area."""
    points, region, weight = [], [], []
    for i in range(n_regions):
        x0, y0, x1, y1 = figure.bones[i].region.bounds
        for a, b in itertools.product((np.arange(side) + 0.5) / side, repeat=2):
            points.append((x0 + a * (x1 - x0), y0 + b * (y1 - y0)))
            region.append(i)
            weight.append(figure.bones[i].region.area / figure.silhouette.area / side**2)
    return Cells(np.array(points), np.array(region), np.array(weight))


def laid(piece: int, region: int, outline: Shape, *, scale: float = 1.0) -> Placement:
    """A placement whose piece frame is the outline's own, moved to its centroid."""
    centre = outline.centroid
    return Placement(piece, region, moved(centre.x, centre.y), scale, 1.0, outline, 0.0)


def case_of(
    pieces: Sequence[Piece],
    figure: Figure,
    placements: Sequence[Placement],
    cells: Cells,
    covers: np.ndarray,
    price: Floats,
    options: AssignmentOptions = PLAIN,
) -> Case:
    """The one place in the tests that builds a Case."""
    return Case(
        pieces=tuple(pieces), figure=figure, placements=tuple(placements), cells=cells,
        covers=covers, price=price, options=options,
    )  # fmt: skip


def every_layout(case: Case) -> Iterator[tuple[int, ...]]:
    """All ways to lay each piece once."""
    pools = [[j for j, place in enumerate(case.placements) if place.piece == i]
             for i in range(len(case.pieces))]  # fmt: skip
    yield from itertools.product(*pools)


def value_of(case: Case, layout: Sequence[int]) -> float:
    """Worth of one layout, straight from the words of the rules: cover on own regions, less
    prices, less what the regions lack of their minimum (small ones up to three times, to
    count like a middling one), plus answered mirror pairs.
    """
    options, weight = case.options, case.cells.weight
    covered = [any(case.covers[j, c] for j in layout) for c in range(len(weight))]
    total = sum(w for w, is_covered in zip(weight, covered, strict=True) if is_covered)
    total -= sum(case.price[j] for j in layout)
    regions = [np.flatnonzero(case.cells.region == r) for r in range(len(BONE_IDS))]
    middling = median(weight[mine].sum() for mine in regions if len(mine))
    for mine in filter(len, regions):
        area, have = weight[mine].sum(), sum(weight[c] for c in mine if covered[c])
        times = min(max(1, round(middling / area)), 3)
        total -= times * max(0.0, options.region_minimum * area - have)
    region_of = {case.pieces[i].id: BONE_IDS[case.placements[j].region]
                 for i, j in enumerate(layout)}  # fmt: skip
    for i, piece in enumerate(case.pieces):
        if piece.mirror in region_of and piece.id < piece.mirror:
            answered = region_of[piece.mirror] == _across(region_of[case.pieces[i].id])
            total += options.mirror_bonus * answered
    return float(total)


def _across(region: str) -> str:
    sides = {"_l": "_r", "_r": "_l"}
    return region[:-2] + sides[region[-2:]] if region[-2:] in sides else region


Rule = Callable[[cp_model.CpModel, Table, Case], None]


def solve_alone(
    case: Case, *rules: Rule, force: Sequence[int] = ()
) -> tuple[int, float, list[int]]:
    """A model of these rules only, with some placements forced: status, worth, what is
    laid.
    """
    model = cp_model.CpModel()
    table = Table(model, case)
    for rule in rules:
        rule(model, table, case)
    for j in force:
        model.add(table.chosen[j] == 1)
    if table.terms:
        model.maximize(sum(units * variable for variable, units in table.terms))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = int(solver.solve(model))
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return status, -np.inf, []
    chosen = [
        j for j, variable in enumerate(table.chosen) if solver.boolean_value(variable)
    ]
    return status, solver.objective_value / UNIT, chosen
