"""What the vehicle showed is paid for wherever the robot still shows it, unchanged."""

from __future__ import annotations

import numpy as np
from ortools.sat.python import cp_model

from panelbeater.assignment.table import UNIT, Case, Table


def reward_kept_vehicle(model: cp_model.CpModel, table: Table, case: Case) -> None:
    """A block of cells pays once for each cell that some piece shows as it was drawn."""
    sight = case.sight
    for block, room in enumerate(sight.room):
        cells = sight.shows[:, block]
        showing = np.flatnonzero(cells)
        if len(showing) == 0:
            continue
        seen = model.new_int_var(0, int(room), f"seen_{block}")
        shown = sum(int(cells[j]) * table.chosen[j] for j in showing)
        table.sight_rows[block] = model.add(shown >= seen).index
        table.terms.append((seen, round(sight.worth * UNIT)))
    for j, off in enumerate(sight.off):
        if off > 0:
            table.terms.append((table.chosen[j], round(float(off) * sight.worth * UNIT)))
