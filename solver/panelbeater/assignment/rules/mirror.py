"""What answers left and right in the vehicle should answer left and right on the robot."""

from __future__ import annotations

import numpy as np
from ortools.sat.python import cp_model

from panelbeater.assignment.table import UNIT, Case, Table
from panelbeater.terms.figure import BONE_IDS

SIZE_STEP = 0.05
"""In ln scale: sizes within this read as one."""


def mirror_region(region: int) -> int:
    """The region across the body's midline; the trunk mirrors itself."""
    name = BONE_IDS[region]
    swapped = {"_l": "_r", "_r": "_l"}.get(name[-2:])
    return BONE_IDS.index(name[:-2] + swapped) if swapped else region


def reward_mirror_pairs(model: cp_model.CpModel, table: Table, case: Case) -> None:
    """A bonus for each mirror pair that lands on mirror regions, and another when both are
    of one size there: two wheels of two sizes read as a mistake.
    """
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
            _reward_one_size(model, table, case, (first, second), region)


def _reward_one_size(
    model: cp_model.CpModel, table: Table, case: Case, pair: tuple[int, int], region: int
) -> None:
    sides = [
        _by_size(case, piece, side)
        for piece, side in zip(pair, (region, mirror_region(region)), strict=True)
    ]
    for size in sorted(set(sides[0]) & set(sides[1])):
        same = model.new_bool_var(f"size_{pair[0]}_{region}_{size}")
        for places in sides:
            model.add(sum(table.chosen[j] for j in places[size]) >= same)
        table.terms.append((same, round(case.options.size_bonus * UNIT)))


def _by_size(case: Case, piece: int, region: int) -> dict[int, list[int]]:
    """Placements of one piece on one region by their size on the stage, in steps of a
    twentieth: drawn sizes of a pair may differ.
    """
    root = case.pieces[piece].outline.area ** 0.5 / case.figure.height
    out: dict[int, list[int]] = {}
    for j, place in enumerate(case.placements):
        if (place.piece, place.region) == (piece, region):
            size = round(np.log(place.scale * root) / SIZE_STEP)
            out.setdefault(size, []).append(j)
    return out
