"""Finds a good layout fast: the relaxed answer made whole, then a few pieces taken up and
laid again, many times over.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from panelbeater.assignment.ledger import Ledger
from panelbeater.assignment.relax import Relaxed, relax
from panelbeater.assignment.rows import Rows
from panelbeater.assignment.rules.mirror import mirror_region
from panelbeater.assignment.rules.twins import sorts_of
from panelbeater.assignment.table import Case
from panelbeater.effort import Effort
from panelbeater.terms.arrays import Floats, Ints

SURE = 0.8
"""A placement that the relaxed model takes by so much is taken for good."""
MOST_TAKEN = 10
"""Pieces taken up together at most. Of 6, 8 and 10 the last came out best on three of four
layouts, each with three seeds."""
HEAT = 6000.0
"""Units a layout may be worse by, on the average at first, and still be gone on from; 1500
and 3000 got caught more often."""


def dive(rows: Rows, first: Relaxed, piece: Ints, effort: Effort) -> Ints | None:
    """Solve, take what is nearly whole for good, and again, until every piece lies.

    piece : (n_placements,), the piece of each of the first variables. Gives (n_pieces,)
    placements; None at a dead end.
    """
    n = len(piece)
    lower, upper = rows.lower.copy(), rows.upper.copy()
    answer = first
    while not effort.is_stopped:
        x = answer.x[:n]
        if (np.abs(x - np.round(x)) < 1e-6).all():
            laid = np.flatnonzero(x > 0.5)
            return laid[np.argsort(piece[laid], kind="stable")]
        still = np.flatnonzero((lower[:n] < 1) & (x > 1e-6))
        sure = still[x[still] > SURE]
        # At least a quarter of what is open is settled at each step.
        order = still[np.argsort(-x[still], kind="stable")]
        n_open = len(np.unique(piece[still]))
        for j in dict.fromkeys([*sure.tolist(), *order[: max(1, n_open // 4)].tolist()]):
            if _is_laid(lower, piece, j):
                continue
            upper[np.flatnonzero(piece == piece[j])] = 0.0
            lower[j] = upper[j] = 1.0
        try:
            answer = relax(_within(rows, lower, upper))
        except ValueError:
            return None
    return None


def _is_laid(lower: Floats, piece: Ints, j: int) -> bool:
    return bool(lower[np.flatnonzero(piece == piece[j])].max() > 0.5)


def _within(rows: Rows, lower: Floats, upper: Floats) -> Rows:
    return Rows(rows.worth, rows.rows, rows.low, rows.high, lower, upper, rows.whole)


def improve(
    case: Case,
    ledger: Ledger,
    chosen: Ints,
    *,
    n_goes: int,
    rng: np.random.Generator,
    effort: Effort,
) -> Ints:
    """Take up a few pieces and lay them again, one by one where each adds most, as often as
    `n_goes`; never worse (ruin and recreate, Schrimpf et al. 2000).

    chosen : (n_pieces,), a placement of each piece. A slightly worse layout is gone on from
    now and then, ever less so, because many a better one lies behind it.
    """
    best, best_value = chosen, ledger.value(chosen)
    now, value = best, best_value
    groups = _groups(case, ledger, rng)
    for k in range(n_goes):
        if effort.is_stopped or not groups.movable.size:
            break
        heat = HEAT * (1 - k / n_goes)
        taken = groups.some(now)
        tried, tried_value = _laid_again(ledger, now, taken, heat, rng)
        if tried_value > value - 20 * HEAT:
            tried, tried_value = settle(ledger, tried, taken)
        if tried_value > value - heat * rng.exponential():
            now, value = tried, tried_value
        if value > best_value + 0.5:
            best, best_value = now, value
    return best


def settle(ledger: Ledger, chosen: Ints, which: Iterable[int]) -> tuple[Ints, float]:
    """The layout and its value when each of some pieces in turn has gone where it adds
    most, all others lying still; twice at most.
    """
    chosen, pieces = chosen.copy(), list(which)
    load, worth = ledger.load(chosen), float(ledger.worth[chosen].sum())
    value = float(ledger.values(load[None], worth)[0])
    for _ in range(2):
        before = value
        for piece in pieces:
            here, mine = chosen[piece], ledger.of_piece[piece]
            rest = load - ledger.adding(here)
            values = ledger.with_piece(rest, worth - ledger.worth[here], mine)
            best = int(values.argmax())
            if values[best] > value + 0.5:
                chosen[piece], value = mine[best], float(values[best])
                load = rest + ledger.adding(mine[best])
                worth += float(ledger.worth[mine[best]] - ledger.worth[here])
        if value == before:
            break
    return chosen, value


def _laid_again(
    ledger: Ledger, chosen: Ints, taken: Ints, heat: float, rng: np.random.Generator
) -> tuple[Ints, float]:
    """A layout and its value with some pieces taken up and laid again in a random order,
    each where it adds most give or take the heat.
    """
    chosen, rest = chosen.copy(), np.delete(chosen, taken)
    load, worth = ledger.load(rest), float(ledger.worth[rest].sum())
    value = 0.0
    for piece in rng.permutation(taken):
        mine = ledger.of_piece[piece]
        values = ledger.with_piece(load, worth, mine)
        best = int((values + 0.3 * heat * rng.gumbel(size=len(mine))).argmax())
        chosen[piece], value = mine[best], float(values[best])
        load = load + ledger.adding(mine[best])
        worth += float(ledger.worth[mine[best]])
    return chosen, value


@dataclass(frozen=True, slots=True, eq=False)
class _Groups:
    """Which pieces are taken up together: those on two regions, on a limb and its twin, of
    one sort, or any, filled up with any others.
    """

    movable: Ints
    """Pieces with more than one placement."""
    region: Ints
    """(n_placements,)"""
    sort: Ints
    """(n_pieces,)"""
    rng: np.random.Generator

    def some(self, chosen: Ints) -> Ints:
        """(n,), pieces of one group, in a random order."""
        rng, where = self.rng, self.region[chosen[self.movable]]
        n = int(rng.integers(2, MOST_TAKEN + 1))
        one = int(rng.integers(len(where)))
        kind = rng.random()
        if kind < 0.4:
            near = np.isin(where, rng.choice(np.unique(where), size=2))
        elif kind < 0.64:
            near = (where == where[one]) | (where == mirror_region(int(where[one])))
        elif kind < 0.82:
            near = self.sort[self.movable] == self.sort[self.movable[one]]
        else:
            near = np.zeros(len(where), dtype=bool)
        order = rng.permutation(len(where))
        taken: Ints = np.concatenate([order[near[order]], order[~near[order]]])[:n]
        return np.asarray(self.movable[taken], dtype=np.int64)


def _groups(case: Case, ledger: Ledger, rng: np.random.Generator) -> _Groups:
    movable = [i for i, mine in enumerate(ledger.of_piece) if len(mine) > 1]
    region = np.array([place.region for place in case.placements])
    sort = np.array(sorts_of(case.pieces))
    return _Groups(np.array(movable, dtype=np.int64), region, sort, rng)
