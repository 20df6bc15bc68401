"""An alternate is a different idea, not the first layout with one plate nudged."""

from __future__ import annotations

from collections.abc import Mapping

from ortools.sat.python import cp_model

from panelbeater.assignment.rules.mirror import mirror_region
from panelbeater.assignment.table import Case, Table

STEPS = 1000
"""Area is counted in this many steps of the whole drawing's."""


def differ_from(
    model: cp_model.CpModel,
    table: Table,
    case: Case,
    earlier: Mapping[str, str],
    n_different: int,
) -> None:
    """At least `n_different` pieces lie elsewhere than in an earlier layout, and so do
    pieces of `different_area` of the drawing: swapping small plates makes no new idea.
    The same region on the other side is not elsewhere.

    earlier : region id by piece id.
    """
    index = {bone.id: region for region, bone in enumerate(case.figure.bones)}
    total = sum(piece.outline.area for piece in case.pieces)
    same, area = [], []
    for piece, noun in enumerate(case.pieces):
        region = index[earlier[noun.id]]
        steps = round(STEPS * noun.outline.area / total)
        for side in sorted({region, mirror_region(region)}):
            still = table.on_region(piece, side)
            same += still
            area += [steps * variable for variable in still]
    model.add(sum(same) <= len(case.pieces) - n_different)
    model.add(sum(area) <= round(STEPS * (1 - case.options.different_area)))
