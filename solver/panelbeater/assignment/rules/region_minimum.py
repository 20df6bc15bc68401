"""No limb is left bare while another wears three layers."""

from __future__ import annotations

from ortools.sat.python import cp_model

from panelbeater.assignment.table import UNIT, Case, Table


def charge_bare_regions(model: cp_model.CpModel, table: Table, case: Case) -> None:
    """Cover below `region_minimum` of a region's area is charged once more."""
    for region, bone in enumerate(case.figure.bones):
        cells = case.cells.of(region)
        units = {cell: round(case.cells.weight[cell] * UNIT) for cell in cells}
        wanted = round(case.options.region_minimum * sum(units.values()))
        short = model.new_int_var(0, wanted, f"short_{bone.id}")
        have = sum(
            units[cell] * table.covered[cell] for cell in cells if cell in table.covered
        )
        model.add(short + have >= wanted)
        table.terms.append((short, -1))
