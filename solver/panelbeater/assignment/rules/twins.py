"""Twin limbs wear like pieces: both arms red, or neither."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from ortools.sat.python import cp_model

from panelbeater.assignment.rules.mirror import mirror_region
from panelbeater.assignment.table import UNIT, Case, Table
from panelbeater.terms.drawing import Piece

ALIKE_COLOUR = 0.12
"""Largest difference in one channel, 0 to 1, of two colours that read as one paint."""
STEPS = 10_000
"""Areas are counted in this many steps of the figure's."""


def charge_unlike_twins(model: cp_model.CpModel, table: Table, case: Case) -> None:
    """Drawn area of one sort (kind and paint) that a limb wears more of than its twin is
    charged at `twin_price`.

    Common practice with no source: a robot reads as one figure when left answers right.
    """
    if not case.options.twin_price:
        return
    total = case.figure.silhouette.area
    steps = [round(STEPS * piece.outline.area / total) for piece in case.pieces]
    sorts = sorts_of(case.pieces)
    for here in range(len(case.figure.bones)):
        there = mirror_region(here)
        if there <= here:
            continue
        for sort in sorted(set(sorts)):
            alike = [i for i, other in enumerate(sorts) if other == sort]
            left, right = (
                sum(steps[i] * sum(table.on_region(i, side)) for i in alike)
                for side in (here, there)
            )
            if isinstance(left, int) and isinstance(right, int):
                continue  # none of them may lie on either
            most = sum(steps[i] for i in alike)
            apart = model.new_int_var(0, most, f"unlike_{here}_{sort}")
            model.add(apart >= left - right)
            model.add(apart >= right - left)
            price = round(case.options.twin_price * UNIT / STEPS)
            table.terms.append((apart, -price))


def sorts_of(pieces: Sequence[Piece]) -> list[int]:
    """(n_pieces,): the sort of each piece, counted from 0: same kind, same paint."""
    sorts: list[int] = []
    firsts: list[Piece] = []
    for piece in pieces:
        same = [
            number
            for number, first in enumerate(firsts)
            if piece.kind == first.kind and _apart(piece, first) <= ALIKE_COLOUR
        ]
        sorts.append(same[0] if same else len(firsts))
        if not same:
            firsts.append(piece)
    return sorts


def _apart(one: Piece, other: Piece) -> float:
    return float(np.abs(_channels(one.colour) - _channels(other.colour)).max())


def _channels(colour: str) -> np.ndarray:
    """(3,), 0 to 1, of #rrggbb."""
    return np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
