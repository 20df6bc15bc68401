"""Where a layout still shows what the vehicle showed, unchanged in size and shape."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from panelbeater.assignment.candidates import Placement
from panelbeater.assignment.cells import Cells
from panelbeater.geometry.frames import map_shape, moved
from panelbeater.terms.arrays import Floats, Ints
from panelbeater.terms.drawing import Piece, Shape

BLOCK = 2
"""Cells along a block: rows of blocks are a quarter as many and hardly looser."""


@dataclass(frozen=True, slots=True, eq=False)
class Sight:
    """Blocks of cells, and how much of each a placement would show unchanged.

    Which of two pieces shows where they overlap is left open: the stacking is settled
    afterwards, so a block pays once for the best of them.
    """

    shows: Ints
    """(n_placements, n_blocks), cells of each block, on whatever region."""
    room: Ints
    """(n_blocks,), cells in the block."""
    worth: float
    """Of one cell, share of the figure."""
    off: Floats
    """(n_placements,), what is shown outside the figure, in cells."""


def no_sight() -> Sight:
    """Nothing is paid for showing anything."""
    return Sight(np.zeros((0, 0), dtype=np.int64), np.zeros(0, dtype=np.int64), 0.0,
                 np.zeros(0))  # fmt: skip


def blocks_of(cells: Cells) -> Ints:
    """(n_cells,), index of the block that each cell lies in."""
    spot = np.floor(cells.points / cells.step / BLOCK).astype(np.int64)
    _, block = np.unique(spot, axis=0, return_inverse=True)
    return np.asarray(block.ravel(), dtype=np.int64)


def shown_on_stage(piece: Piece, shown: Shape, place: Placement) -> Shape:
    """What the vehicle shows of a piece, carried to where the piece lies."""
    centre = piece.outline.centroid
    return map_shape(place.stage_from_piece @ moved(-centre.x, -centre.y), shown)
