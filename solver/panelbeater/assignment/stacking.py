"""Which of two pieces lies in front on the robot, so that most of the vehicle shows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from panelbeater.assignment.candidates import (
    PieceForm,
    Placement,
    laid_again,
    piece_form,
    shown_parts,
)
from panelbeater.assignment.cells import lattice
from panelbeater.assignment.options import options_for
from panelbeater.assignment.sight import shown_on_stage
from panelbeater.geometry.overlay import shared_areas
from panelbeater.geometry.stacked import closed, stacked
from panelbeater.terms.arrays import Flags, Floats
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing, Piece

TOUCHING = 1e-4
"""Pieces that overlap by less of the smaller one do not hide each other in the vehicle."""
N_POINTS = 4000
"""Points the pieces are looked at on, over the box of them all."""
RESIZED = 0.3
"""Worth of showing what the vehicle showed of a piece that is resized or stretched."""
WON = 0.005
"""Share of all worth from which pieces change places for it: less is not seen."""
LOST = 0.01
"""Share of a piece the vehicle is known by that may be hidden for others to be seen."""
SIGNATURE = 4.0
"""Worth of showing a piece the vehicle is known by, beside any other."""


def drawn_over(pieces: Sequence[Piece]) -> np.ndarray:
    """(n_pieces, n_pieces) bool: row lies over column in the vehicle, directly or through
    others between them. Every other pair can be stacked either way from the first frame on
    without anybody seeing a difference.
    """
    n = len(pieces)
    outlines = np.array([piece.outline for piece in pieces], dtype=object)
    area = shapely.area(outlines)
    over = np.zeros((n, n), dtype=bool)
    for i in range(1, n):
        shared = shared_areas(outlines[i], outlines[:i])
        over[i, :i] = shared > TOUCHING * np.minimum(area[i], area[:i])
        over[i] |= over[over[i]].any(axis=0)
    return over


def lies_nearer(pieces: Sequence[Piece]) -> np.ndarray:
    """(n_pieces, n_pieces) bool: row must lie over column: as drawn, and of two pieces the
    vehicle is known by the later one.
    """
    marked = np.array([piece.signature for piece in pieces])
    later = np.tri(len(pieces), k=-1, dtype=bool) & marked[:, None] & marked[None, :]
    out: np.ndarray = drawn_over(pieces) | later
    return out


def stacking(
    pieces: Sequence[Piece], laid: Sequence[Placement], forms: Sequence[PieceForm]
) -> tuple[int, ...]:
    """(n_pieces,) depths, larger is nearer: pieces are moved in the stack, one at a time,
    for as long as more of the vehicle shows; what overlaps in the vehicle keeps its order.

    Grows with pieces x points.
    """
    covers, worth = _looks(pieces, laid, forms)
    return _stacked(range(len(pieces)), drawn_over(pieces), covers, worth)


def robot_stacking(
    drawing: Drawing, assignment: Assignment, must: Flags
) -> tuple[int, ...]:
    """(n_pieces,) depths of the robot where pieces can change places on the way: only what
    `must`, row over column, and what was drawn on a panel of its own region keep their
    order. Near the depths of the assignment where others show hardly more, or where less
    would be seen of a piece the vehicle is known by.

    must : (n_pieces, n_pieces), closed: also through others between them.
    """
    pieces = drawing.pieces
    laid = laid_again(drawing, assignment)
    options = options_for(assignment.asked)
    forms = [piece_form(i, piece, options) for i, piece in enumerate(pieces)]
    covers, worth = _looks(pieces, laid, forms)
    regions = np.array([place.region for place in laid])
    sat = drawn_over(pieces) & (regions[:, None] == regions) & ~must.T
    over = closed(must | sat)
    edges = [(under, above) for above, under in np.argwhere(over).tolist()]
    before = stacked(edges, assignment.depths)
    found = _stacked(np.argsort(before).tolist(), over, covers, worth)
    signature = np.array([piece.signature for piece in pieces])
    (was, knew), (is_now, knows) = (
        _shown(depths, covers, worth, signature) for depths in (before, found)
    )
    is_better = is_now - was > WON * worth.max(axis=0).sum()
    is_better &= bool((knows >= knew - LOST).all())
    return found if is_better else tuple(before)


def _shown(
    depths: Sequence[int], covers: Flags, worth: Floats, signature: Flags
) -> tuple[float, Floats]:
    """Worth of all that is seen, and the share that is of each signature piece."""
    height = np.where(covers, np.array(depths)[:, None], -1)
    seen = covers & (height == height.max(axis=0))  # (n_pieces, n_points)
    shares = seen.sum(axis=1) / np.maximum(covers.sum(axis=1), 1)
    return float(worth[seen].sum()), shares[signature]


def _stacked(
    order: Sequence[int], over: Flags, covers: Flags, worth: Floats
) -> tuple[int, ...]:
    """Depths, from an order from far to near."""
    order = list(order)
    for _ in range(4):
        before = list(order)
        for i in range(len(order)):
            _move(order, i, over, covers, worth)
        if order == before:
            break
    depths = np.empty(len(order), dtype=np.int64)
    depths[order] = np.arange(len(order))
    return tuple(depths.tolist())


def _looks(
    pieces: Sequence[Piece], laid: Sequence[Placement], forms: Sequence[PieceForm]
) -> tuple[np.ndarray, Floats]:
    """(n_pieces, n_points) bool, what lies under each piece, and what showing it there is
    worth.
    """
    outlines = np.array([place.outline for place in laid], dtype=object)
    x0, y0, x1, y1 = shapely.total_bounds(outlines)
    step = float(((x1 - x0) * (y1 - y0) / N_POINTS) ** 0.5)
    low = np.floor(np.array([x0, y0]) / step).astype(np.int64)
    n = np.ceil(np.array([x1, y1]) / step).astype(np.int64) - low
    points = lattice(low, int(n[0]), int(n[1]), step).reshape(-1, 2)
    covers = np.array([shapely.contains_xy(outline, points) for outline in outlines])
    worth = np.zeros(covers.shape)
    for i, (piece, part) in enumerate(zip(pieces, shown_parts(pieces), strict=True)):
        place = laid[i]
        if place.stowed:
            covers[i] = False
            continue
        seen = shapely.contains_xy(shown_on_stage(piece, part, place), points)
        kept = forms[i].is_kept(place.scale, place.stretch)
        worth[i, seen] = 1.0 if kept else RESIZED
        if piece.signature:
            worth[i, covers[i]] = SIGNATURE
    return covers, worth


def _move(
    order: list[int], piece: int, over: np.ndarray, covers: np.ndarray, worth: Floats
) -> None:
    """Put one piece where most shows; where it lies when nothing is won."""
    here = order.index(piece)
    rest = order[:here] + order[here + 1 :]
    under = np.flatnonzero(covers[piece])
    rank = np.full(len(under), -1)
    shown = np.zeros(len(under))
    for place, other in enumerate(rest):
        on_top = covers[other, under]
        rank[on_top] = place
        shown[on_top] = worth[other, under[on_top]]
    # At slot s, the piece shows wherever the topmost other piece ranks below s.
    slots = np.arange(len(rest) + 1)
    mine, theirs = (np.zeros(len(rest) + 1) for _ in range(2))
    np.add.at(mine, rank + 1, worth[piece, under])
    np.add.at(theirs, rank + 1, shown)
    value = np.cumsum(mine) + theirs.sum() - np.cumsum(theirs)
    below = [place + 1 for place, other in enumerate(rest) if over[piece, other]]
    above = [place for place, other in enumerate(rest) if over[other, piece]]
    lowest, highest = max(below, default=0), min(above, default=len(rest))
    allowed = slots[lowest : highest + 1]
    best = allowed[np.lexsort((np.abs(allowed - here), -np.round(value[allowed], 6)))[0]]
    if value[best] > value[here] + 1e-6:
        order[:] = [*rest[:best], piece, *rest[best:]]
