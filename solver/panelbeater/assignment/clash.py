"""Which wishes cannot all be granted: the smallest clashing set, by name."""

from __future__ import annotations

from ortools.sat.python import cp_model

from panelbeater.assignment.rules.signature import hiding_pairs
from panelbeater.assignment.table import Case, Table


def clash_in_words(case: Case) -> str:
    """One line naming a smallest set of pins and signature marks that clash, and a way out.

    Every wish is an assumption that may be dropped; wishes are dropped one at a time for
    as long as the rest still clash (deletion filter), so no smaller part of the answer
    clashes.
    """
    wishes = [f"pin {p.id} to {p.wishes.pin}" for p in case.pieces if p.wishes.pin]
    wishes += [f"keep {p.id} in view" for p in case.pieces if p.signature]
    if _can_grant(case, set(wishes)):
        return "no layout was found; raise --budget"
    core = list(wishes)
    for wish in wishes:
        fewer = [other for other in core if other != wish]
        if not _can_grant(case, set(fewer)):
            core = fewer
    if not core:
        return "the pieces cannot all be laid; lift a ban or widen scale_min and scale_max"
    return f"these wishes clash: {'; '.join(core)}; free one of them"


def _can_grant(case: Case, wishes: set[str]) -> bool:
    """Is there a layout of the wished-for pieces under the rules that speak of them?"""
    model = cp_model.CpModel()
    table = Table(model, case)
    for index, piece in enumerate(case.pieces):
        pinned = piece.wishes.pin is not None
        if not pinned or f"pin {piece.id} to {piece.wishes.pin}" in wishes:
            model.add_exactly_one(table.for_piece(index))
    for index, piece in enumerate(case.pieces):
        if f"keep {piece.id} in view" in wishes:
            for one, other in hiding_pairs(case, index):
                model.add_at_most_one([table.chosen[one], table.chosen[other]])
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = 5.0
    return solver.solve(model) != cp_model.INFEASIBLE
