"""Every piece lies exactly once: none vanishes, none is doubled."""

from __future__ import annotations

from ortools.sat.python import cp_model

from panelbeater.assignment.table import Case, Table


def each_piece_once(model: cp_model.CpModel, table: Table, case: Case) -> None:
    """Exactly one placement per piece. Pins and bans already thinned out the placements."""
    for piece in range(len(case.pieces)):
        model.add_exactly_one(table.for_piece(piece))
