"""Which wishes cannot all be granted: the smallest clashing set, by name."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from ortools.sat.python import cp_model

from panelbeater.assignment.candidates import Placement
from panelbeater.assignment.rules.signature import keep_in_view
from panelbeater.assignment.search import Search, find_placements
from panelbeater.assignment.table import Case, Table
from panelbeater.terms.drawing import Piece, Wishes
from panelbeater.terms.figure import BONE_IDS


@dataclass(frozen=True, slots=True)
class _Wish:
    """One thing that was asked for."""

    words: str
    piece: int
    pin: str | None = None
    ban: str | None = None
    """Neither of the two: the piece is to be kept in view."""

    def forbids(self, place: Placement) -> bool:
        """Would a placement of its piece go against it?"""
        region = BONE_IDS[place.region]
        return region == self.ban or (self.pin is not None and region != self.pin)


def clash_in_words(case: Case) -> str:
    """One line naming a smallest set of pins, bans and signature marks that clash, and
    which of them to free.

    case : holds what the wishes forbid as well (`forbidden_placements`).
    """
    wishes = {wish.words: wish for wish in _wishes(case.pieces)}

    def can_grant(some: Collection[str]) -> bool:
        return _can_grant(case, [wish for words, wish in wishes.items() if words in some])

    if can_grant(wishes):
        return "no layout was found; raise --budget"
    if not can_grant([]):
        return "the pieces cannot all be laid; widen scale_min and scale_max"
    core = smallest_clash(list(wishes), can_grant)
    helps = [w for w in core if can_grant([o for o in wishes if o != w])]
    told = _gathered([wishes[words] for words in core])
    out = f"these wishes clash: {'; '.join(told)}; "
    if not helps:
        return out + "free one of them and plan again: more clash besides"
    if len(helps) == len(core):
        return out + "free one of them"
    return out + "free this one: " + ", or: ".join(_gathered([wishes[w] for w in helps]))


def _gathered(wishes: Sequence[_Wish]) -> list[str]:
    """In words, the bans of one piece as one."""
    out: dict[int | str, str] = {}
    for wish in wishes:
        if wish.ban is None:
            out[wish.words] = wish.words
        elif wish.piece in out:
            out[wish.piece] += f", {wish.ban}"
        else:
            out[wish.piece] = wish.words
    return list(out.values())


def homeless_in_words(pieces: Sequence[Piece]) -> str:
    """One line on pieces that fit nowhere, with what was wished of each."""
    told = []
    for piece in pieces:
        pin, bans = piece.wishes.pin, piece.wishes.bans
        left = [region for region in BONE_IDS if region not in bans]
        why = f"pinned to {pin}" if pin else "no region is near enough to its size"
        if bans and not pin:
            why = f"banned from all but {', '.join(left)}" if left else "banned everywhere"
        told.append(f"{piece.id} ({why})")
    return (f"no place on the robot for {', '.join(told)}; free a pin or a ban, or widen "
            "scale_min and scale_max")  # fmt: skip


def forbidden_placements(search: Search) -> Iterator[Placement]:
    """Where pieces with pins and bans could lie without them."""
    pieces = search.pieces
    tied = [i for i, p in enumerate(pieces) if p.wishes.pin or p.wishes.bans]
    if not tied:
        return
    free = [replace(pieces[i], wishes=Wishes()) for i in tied]
    wider = Search.over(free, search.figure, search.ground, search.options)
    for place in find_placements(wider, wider.plain_worths()):
        whole = replace(place, piece=tied[place.piece])
        if any(
            wish.forbids(whole) for wish in _wishes(pieces) if wish.piece == whole.piece
        ):
            yield whole


def _wishes(pieces: Sequence[Piece]) -> list[_Wish]:
    out = []
    for i, piece in enumerate(pieces):
        if piece.wishes.pin:
            out.append(
                _Wish(f"pin {piece.id} to {piece.wishes.pin}", i, pin=piece.wishes.pin)
            )
        out += [_Wish(f"ban {piece.id} from {r}", i, ban=r) for r in piece.wishes.bans]
    out += [_Wish(f"keep {p.id} in view", i) for i, p in enumerate(pieces) if p.signature]
    return out


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


def _can_grant(case: Case, wishes: Sequence[_Wish]) -> bool:
    """Is there a layout of all pieces under these wishes and no others?"""
    model = cp_model.CpModel()
    table = Table(model, case)
    for index in range(len(case.pieces)):
        model.add_exactly_one(table.for_piece(index))
    for wish in wishes:
        if wish.pin is None and wish.ban is None:
            keep_in_view(model, table, case, wish.piece)
        for j, place in enumerate(case.placements):
            if place.piece == wish.piece and wish.forbids(place):
                model.add(table.chosen[j] == 0)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = 5.0
    return solver.solve(model) != cp_model.INFEASIBLE
