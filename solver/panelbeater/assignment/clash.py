"""Which wishes cannot all be granted: the smallest clashing set, by name."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

from ortools.sat.python import cp_model

from panelbeater.assignment.rules.signature import hiding_pairs
from panelbeater.assignment.table import Case, Table


def clash_in_words(case: Case) -> str:
    """One line naming a smallest set of pins and signature marks that clash, and which of
    them to free.
    """
    wishes = [f"pin {p.id} to {p.wishes.pin}" for p in case.pieces if p.wishes.pin]
    wishes += [f"keep {p.id} in view" for p in case.pieces if p.signature]
    if _can_grant(case, wishes):
        return "no layout was found; raise --budget"
    if not _can_grant(case, []):
        return "the pieces cannot all be laid; lift a ban or widen scale_min and scale_max"
    core = smallest_clash(wishes, lambda some: _can_grant(case, some))
    helps = [w for w in core if _can_grant(case, [o for o in wishes if o != w])]
    out = f"these wishes clash: {'; '.join(core)}; "
    if not helps:
        return out + "free one of them and plan again: more clash besides"
    if len(helps) == len(core):
        return out + "free one of them"
    return out + f"free this one: {helps[0]}" + "".join(f", or: {w}" for w in helps[1:])


def smallest_clash(
    wishes: Sequence[str], can_grant: Callable[[Collection[str]], bool]
) -> list[str]:
    """A set of fewest wishes that cannot be granted together, in the order given.

    Every set that clashes shares a wish with each set whose removal mends all, so a
    smallest set that meets all of those known is tried next: when it clashes it is the
    answer, else another such set is found (implicit hitting sets, Ignatiev et al. 2015).
    Ends only where all wishes together clash and none at all do not.
    """
    mending: list[frozenset[str]] = []
    while True:
        core = _smallest_meeting(wishes, mending)
        if not can_grant(core):
            return core
        granted = set(core)
        for wish in wishes:
            if wish not in granted and can_grant(granted | {wish}):
                granted.add(wish)
        mending.append(frozenset(wishes) - granted)


def _smallest_meeting(wishes: Sequence[str], groups: Sequence[frozenset[str]]) -> list[str]:
    """Fewest wishes with one of every group; of equals the earliest."""
    model = cp_model.CpModel()
    taken = {wish: model.new_bool_var(wish) for wish in wishes}
    for group in groups:
        model.add_bool_or([taken[wish] for wish in wishes if wish in group])
    n = len(wishes)
    model.minimize(sum((n * n + i) * x for i, x in enumerate(taken.values())))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.solve(model)
    return [wish for wish, x in taken.items() if solver.boolean_value(x)]


def _can_grant(case: Case, wishes: Collection[str]) -> bool:
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
