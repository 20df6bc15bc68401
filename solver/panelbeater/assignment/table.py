"""The table of decisions: one Boolean per placement, asked for in words."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from ortools.sat.python import cp_model

from panelbeater.assignment.candidates import Placement
from panelbeater.assignment.cells import Cells
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.sight import Sight, no_sight
from panelbeater.terms.arrays import Floats
from panelbeater.terms.drawing import Piece
from panelbeater.terms.figure import Figure

UNIT = 1_000_000
"""Whole units in a share of 1: CP-SAT wants whole numbers, at most a million or so."""


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """Everything the rules may ask about: pieces, placements, cells, prices."""

    pieces: tuple[Piece, ...]
    figure: Figure
    placements: tuple[Placement, ...]
    cells: Cells
    covers: np.ndarray
    """(n_placements, n_cells) bool: own-region cells only."""
    price: Floats
    """(n_placements,), share of the figure."""
    options: AssignmentOptions
    sight: Sight = field(default_factory=no_sight)

    def with_more(self, other: Case) -> Case:
        """The same with the placements of another case of the same pieces and cells."""
        one, two = self.sight, other.sight
        return replace(
            self,
            placements=(*self.placements, *other.placements),
            covers=np.concatenate([self.covers, other.covers]),
            price=np.concatenate([self.price, other.price]),
            sight=replace(
                one,
                shows=np.concatenate([one.shows, two.shows]),
                off=np.concatenate([one.off, two.off]),
            ),
        )


class Table:
    """The Booleans of one model."""

    def __init__(self, model: cp_model.CpModel, case: Case) -> None:
        self._case = case
        self.chosen = [model.new_bool_var(f"lay_{j}") for j in range(len(case.placements))]
        self.terms: list[tuple[cp_model.IntVar, int]] = []
        """(variable, whole units) pairs that the objective adds up."""
        self.covered: dict[int, cp_model.IntVar] = {}
        """Cell -> is it covered on its own region; filled by the cover rule."""
        self.cover_rows: dict[int, int] = {}
        """Cell -> index of the constraint that ties it to the placements over it."""
        self.sight_rows: dict[int, int] = {}
        """The same for blocks of cells that show the vehicle unchanged."""
        self._by_piece: dict[int, list[int]] = {}
        for j, place in enumerate(case.placements):
            self._by_piece.setdefault(place.piece, []).append(j)

    def for_piece(self, piece: int) -> list[cp_model.IntVar]:
        """All placements of one piece."""
        return [self.chosen[j] for j in self._by_piece.get(piece, [])]

    def on_region(self, piece: int, region: int) -> list[cp_model.IntVar]:
        """All placements of one piece on one region, in sight."""
        places = self._case.placements
        return [
            self.chosen[j]
            for j in self._by_piece.get(piece, [])
            if places[j].region == region and not places[j].stowed
        ]

    def covering(self, cell: int) -> list[cp_model.IntVar]:
        """All placements that cover one cell of their own region."""
        return [self.chosen[j] for j in np.flatnonzero(self._case.covers[:, cell])]
