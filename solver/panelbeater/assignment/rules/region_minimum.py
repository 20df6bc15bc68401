"""No limb is left bare while another wears three layers."""

from __future__ import annotations

import numpy as np
from ortools.sat.python import cp_model

from panelbeater.assignment.table import UNIT, Case, Table


def charge_bare_regions(model: cp_model.CpModel, table: Table, case: Case) -> None:
    """Cover below `region_minimum` of a region's area is charged once more, of a small
    region up to three times so that it counts like a middling one: a bare hand is seen as
    much as a bare thigh. Twice left a foot bare and four times cost a scooter a fifth of
    its kept vehicle. Below the animator's own figure it is charged at `wanted_price`.
    """
    options, cells = case.options, case.cells
    areas = np.bincount(cells.region, cells.weight, len(case.figure.bones))
    middling = np.median(areas[areas > 0])
    for region, bone in enumerate(case.figure.bones):
        if not areas[region]:
            continue
        price = min(max(1, round(middling / areas[region])), 3)
        _charge(model, table, case, region, options.region_minimum, price)
        if bone.id in options.wanted_cover:
            share, price = options.wanted_cover[bone.id], round(options.wanted_price)
            _charge(model, table, case, region, share, price)


def _charge(
    model: cp_model.CpModel, table: Table, case: Case, region: int, share: float, price: int
) -> None:
    cells = case.cells.of(region)
    units = {cell: round(case.cells.weight[cell] * UNIT) for cell in cells}
    wanted = round(share * sum(units.values()))
    short = model.new_int_var(0, wanted, f"short_{region}_{price}")
    have = sum(units[cell] * table.covered[cell] for cell in cells if cell in table.covered)
    model.add(short + have >= wanted)
    table.terms.append((short, -price))
