"""A covered cell pays its area, once, and only to a piece assigned to its own region."""

from __future__ import annotations

from ortools.sat.python import cp_model

from panelbeater.assignment.table import UNIT, Case, Table


def reward_covered_cells(model: cp_model.CpModel, table: Table, case: Case) -> None:
    """Weighted set cover in linear rows: sum of covering placements >= covered."""
    for cell, weight in enumerate(case.cells.weight):
        covering = table.covering(cell)
        if not covering:
            continue
        covered = model.new_bool_var(f"covered_{cell}")
        table.cover_rows[cell] = model.add(sum(covering) >= covered).index
        table.terms.append((covered, round(weight * UNIT)))
        table.covered[cell] = covered
