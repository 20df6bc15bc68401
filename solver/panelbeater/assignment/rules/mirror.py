"""What answers left and right in the vehicle should answer left and right on the robot."""

from __future__ import annotations

from ortools.sat.python import cp_model

from panelbeater.assignment.table import UNIT, Case, Table
from panelbeater.terms.figure import BONE_IDS


def mirror_region(region: int) -> int:
    """The region across the body's midline; the trunk mirrors itself."""
    name = BONE_IDS[region]
    swapped = {"_l": "_r", "_r": "_l"}.get(name[-2:])
    return BONE_IDS.index(name[:-2] + swapped) if swapped else region


def reward_mirror_pairs(model: cp_model.CpModel, table: Table, case: Case) -> None:
    """A bonus for each mirror pair that lands on mirror regions."""
    index = {piece.id: i for i, piece in enumerate(case.pieces)}
    for first, piece in enumerate(case.pieces):
        second = index.get(piece.mirror or "", -1)
        if second <= first:
            continue
        for region in range(len(BONE_IDS)):
            here = table.on_region(first, region)
            there = table.on_region(second, mirror_region(region))
            if not here or not there:
                continue
            both = model.new_bool_var(f"mirror_{piece.id}_{region}")
            model.add(sum(here) >= both)
            model.add(sum(there) >= both)
            table.terms.append((both, round(case.options.mirror_bonus * UNIT)))
