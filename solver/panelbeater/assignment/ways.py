"""One piece in all its turns and shapes, ready to be laid on a raster."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from panelbeater.assignment.candidates import PieceForm, Placement, SpotTable
from panelbeater.geometry.frames import map_shape, moved, rigid
from panelbeater.terms.arrays import Floats, Ints, Points
from panelbeater.terms.drawing import Piece, Shape


class Ways:
    """One piece in all its turns and shapes, ready to be laid on a raster."""

    def __init__(self, form: PieceForm, piece: Piece, shown: Shape) -> None:
        self.form, self.piece = form, piece
        centre = piece.outline.centroid
        self.whole = SpotTable(form.outline, form.extent)
        self.shown = SpotTable(map_shape(moved(-centre.x, -centre.y), shown), form.extent)
        self.shown_area = float(shown.area)
        self.reach = form.extent * float(np.linalg.norm(form.ways, 2, axis=(1, 2)).max())

    def turned(self, turns: Floats) -> Floats:
        """(n_turns * n_shapes, 2, 2) linear parts, all shapes of the first turn first."""
        rotation = rigid(np.zeros((len(turns), 2)), turns)[:, :2, :2]
        return (rotation[:, None] @ self.form.ways[None]).reshape(-1, 2, 2)

    def shape_of(self, way: Ints) -> Ints:
        """Index of the shape of each way."""
        return way % len(self.form.shapes)

    def covers(self, place: Placement, points: Points) -> NDArray[np.bool_]:
        """(n,), which points (n, 2) on the stage lie under the piece."""
        linear, centre = place.stage_from_piece[:2, :2], place.stage_from_piece[:2, 2]
        under: NDArray[np.bool_] = self.whole.under(linear[None], points - centre)[0] > 0
        return under

    def shows(self, place: Placement, points: Points) -> NDArray[np.bool_]:
        """The same for what the vehicle shows of it."""
        linear, centre = place.stage_from_piece[:2, :2], place.stage_from_piece[:2, 2]
        under: NDArray[np.bool_] = self.shown.under(linear[None], points - centre)[0] > 0
        return under

    def kept(self, n_ways: int) -> NDArray[np.bool_]:
        """(n_ways,), which ways keep the piece as drawn."""
        out: NDArray[np.bool_] = self.form.kept[self.shape_of(np.arange(n_ways))]
        return out
