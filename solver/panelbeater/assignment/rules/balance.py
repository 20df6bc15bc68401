"""Left answers right: a limb is not left barer than its twin."""

from __future__ import annotations

from ortools.sat.python import cp_model

from panelbeater.assignment.rules.mirror import mirror_region
from panelbeater.assignment.table import UNIT, Case, Table


def charge_lopsided_limbs(model: cp_model.CpModel, table: Table, case: Case) -> None:
    """The difference in covered share between mirror regions is charged at
    `balance_price`.
    """
    for region, bone in enumerate(case.figure.bones):
        twin = mirror_region(region)
        if twin <= region:
            continue
        # Per mille of the own region, so that twins of slightly different size compare
        # fairly.
        both = (case.cells.of(region), case.cells.of(twin))
        here, there = (
            sum(
                round(1000 * case.cells.weight[c] / case.cells.weight[cells].sum())
                * table.covered[c]
                for c in cells
                if c in table.covered
            )
            for cells in both
        )
        apart = model.new_int_var(0, 2000, f"lopsided_{bone.id}")
        model.add(apart >= here - there)
        model.add(apart >= there - here)
        area = bone.region.area / case.figure.silhouette.area
        table.terms.append((apart, -round(case.options.balance_price * area * UNIT / 1000)))
