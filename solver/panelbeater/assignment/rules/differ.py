"""An alternate is a different idea, not the first layout with one plate nudged."""

from __future__ import annotations

from collections.abc import Mapping

from ortools.sat.python import cp_model

from panelbeater.assignment.table import Case, Table


def differ_from(
    model: cp_model.CpModel,
    table: Table,
    case: Case,
    earlier: Mapping[str, str],
    n_different: int,
) -> None:
    """At least `n_different` pieces lie on another region than in an earlier layout.

    earlier : region id by piece id.
    """
    index = {bone.id: region for region, bone in enumerate(case.figure.bones)}
    same = [
        variable
        for piece, noun in enumerate(case.pieces)
        for variable in table.on_region(piece, index[earlier[noun.id]])
    ]
    model.add(sum(same) <= len(case.pieces) - n_different)
