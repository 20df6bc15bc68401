"""The pieces a vehicle is known by stay in view on the robot."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from ortools.sat.python import cp_model

from panelbeater.assignment.stacking import lies_nearer
from panelbeater.assignment.table import Case, Table
from panelbeater.geometry.frames import apply, map_shape, moved
from panelbeater.terms.arrays import Flags, Points
from panelbeater.terms.drawing import Piece

HIDDEN_MAX = 0.35
"""Largest share one nearer piece may hide, where only one does."""
TOGETHER = 38
"""Largest share all nearer pieces may hide, in hundredths: the promise is 60 in view."""
SMALL = 4
"""Hundredths that one piece hides and nobody counts."""


def keep_signature_visible(model: cp_model.CpModel, table: Table, case: Case) -> None:
    """Pieces that must lie nearer leave most of a signature piece in view: none is laid
    over more than HIDDEN_MAX of it, all together hide no more than TOGETHER.

    What overlaps in the vehicle keeps its order, and of two signature pieces one lies over
    the other; all else can be stacked behind the piece.
    """
    for index, piece in enumerate(case.pieces):
        if piece.signature:
            keep_in_view(model, table, case, index)


def keep_in_view(model: cp_model.CpModel, table: Table, case: Case, index: int) -> None:
    """The same for one piece."""
    for one, shares in _hidden(case, index, lies_nearer(case.pieces)[:, index]):
        _hide_little(model, table, case, one, shares)


def _hide_little(
    model: cp_model.CpModel, table: Table, case: Case, one: int, shares: dict[int, float]
) -> None:
    """One row for a placement and all placements of one other piece that hide it: that
    piece lies only once, and fewer, tighter rows are solved many times faster than pairs.
    """
    alone: dict[int, list[int]] = {}
    for other, share in shares.items():
        if share > HIDDEN_MAX:
            alone.setdefault(case.placements[other].piece, [one]).append(other)
    for row in alone.values():
        model.add_at_most_one([table.chosen[j] for j in row])
    parts = {k: round(100 * share) for k, share in shares.items() if share <= HIDDEN_MAX}
    most: dict[int, int] = {}
    for other, part in parts.items():
        piece = case.placements[other].piece
        most[piece] = max(most.get(piece, 0), part)
    spare = sum(most.values()) - TOGETHER
    if spare > 0:
        hidden = sum(part * table.chosen[k] for k, part in parts.items() if part > SMALL)
        model.add(hidden + spare * table.chosen[one] <= spare + TOGETHER)


def _hidden(
    case: Case, index: int, is_nearer: Flags
) -> Iterator[tuple[int, dict[int, float]]]:
    """Every placement of the piece, with the share of it that each placement of a nearer
    piece, of `is_nearer` (n_pieces,), would hide.
    """
    piece = case.pieces[index]
    boxes = np.array([place.outline.bounds for place in case.placements])  # (n, 4)
    nearer = is_nearer[[place.piece for place in case.placements]]
    # What is stowed hides nothing.
    nearer &= ~np.array([place.stowed for place in case.placements])
    probes = _probes(piece)
    for j, place in enumerate(case.placements):
        if place.piece != index or place.stowed:
            continue
        x0, y0, x1, y1 = boxes[j]
        near = (boxes[:, 0] < x1) & (boxes[:, 2] > x0) & (boxes[:, 1] < y1)
        near &= (boxes[:, 3] > y0) & nearer
        points = apply(place.stage_from_piece, probes)
        yield (
            j,
            {
                other: float(
                    shapely.contains_xy(case.placements[other].outline, points).mean()
                )
                for other in np.flatnonzero(near).tolist()
            },
        )


def _probes(piece: Piece) -> Points:
    """About thirty points spread over a piece, in its own frame."""
    centre = piece.outline.centroid
    outline = map_shape(moved(-centre.x, -centre.y), piece.outline)
    x0, y0, x1, y1 = outline.bounds
    grid = np.stack(
        np.meshgrid(np.linspace(x0, x1, 9)[1:-1], np.linspace(y0, y1, 9)[1:-1]), -1
    )
    points: Points = grid.reshape(-1, 2)
    inside = points[shapely.contains_xy(outline, points)]
    return inside if len(inside) else np.zeros((1, 2))
