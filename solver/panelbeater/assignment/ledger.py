"""Tells what whole layouts are worth, many at a time and without a solver."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from panelbeater.assignment.rows import Rows, open_ended
from panelbeater.terms.arrays import Floats, Ints

BROKEN = 1e6
"""Charged for each unit by which a hard rule is broken: as much as a whole figure."""

MOST_FULL = 2**26
"""Numbers that are held in full, 256 MiB; of more the zeros are left out, which takes a
little longer for few pieces and a little less for many."""

Singles = NDArray[np.float32]
"""Single precision is twice as fast, and out by a unit or so in a million units."""


@dataclass(frozen=True, slots=True, eq=False)
class Level:
    """Variables that the rules add, each as good as the rows that tie it down allow."""

    low: Singles
    """(n_rows,), right sides; rows of one variable follow each other."""
    n_single: int
    """Variables tied down by a single row; they come first."""
    starts: Ints
    """First row of each of the others, counted from the first of theirs."""
    most: Singles
    """(n_variables,)"""
    worth: Singles
    """(n_variables,), never negative: what is charged for is counted backwards."""

    def reached(self, load: Singles) -> Singles:
        """(m, n_variables) where m layouts load the rows (m, n_rows)."""
        room = load - self.low
        out = room[:, : self.n_single]
        if len(self.starts):
            others = np.minimum.reduceat(room[:, self.n_single :], self.starts, axis=1)
            out = np.hstack([out, others])
        least: Singles = np.minimum(out, self.most)
        return least


@dataclass(frozen=True, slots=True, eq=False)
class Ledger:
    """The rows of a model, read as a formula for the worth of a layout.

    Covered cells and the like follow from what is laid: each is as good as its rows allow.
    First come those that hang on placements alone, then those that add up the first (how
    lopsided, how bare); rows without any are hard, and cost BROKEN a unit.
    """

    columns: Singles | csr_array
    """(n_placements, n_rows), what each placement adds to the rows; ask `adding`."""
    worth: Singles
    """(n_placements,), in units."""
    of_piece: tuple[Ints, ...]
    """Placements of each piece."""
    first: Level
    second: Level
    carried: Singles
    """(n_variables of first, n_rows of second)"""
    most: Singles
    """(n_hard_rows,), right sides; hard rows come last."""

    @staticmethod
    def of(rows: Rows, piece: Ints) -> Ledger:
        """Read the formula off the rows.

        piece : (n_placements,), the piece of each of the first variables; every layout
        asked about lays each piece once. Raises ValueError on hard rows that demand a
        least and on others that allow a most: the rules are kept without, on purpose.
        """
        n = len(piece)
        matrix, low = csr_array(rows.rows), open_ended(rows.low)
        added = csr_array(matrix[:, n:])
        owner, size, count = _owners(added)
        sign = np.where(rows.worth[n:] < 0, -1.0, 1.0)
        summing = np.zeros(added.shape[1], dtype=bool)
        summing[owner[count > 1]] = True
        one = _in_order(np.flatnonzero((count > 0) & ~summing[owner]), owner)
        two = _in_order(np.flatnonzero((count > 0) & summing[owner]), owner)
        # That each piece lies once, an equation, is taken for granted.
        hard = np.flatnonzero((count == 0) & (rows.low != rows.high))
        high = open_ended(rows.high)
        if np.isfinite(low[hard]).any() or np.isfinite(high[count > 0]).any():
            raise ValueError("a row the ledger cannot read")
        scale = np.where(count > 0, 1 / np.where(size == 0, 1, size), 1.0)
        ends = np.where(sign > 0, rows.upper[n:], -rows.lower[n:])
        order = np.concatenate([one, two, hard])
        loads = csr_array(matrix[order, :n].multiply(scale[order, None]).T)
        loads = loads.astype(np.float32)
        levels = [_level(of, owner, low * scale, ends, np.abs(rows.worth[n:]))
                  for of in (one, two)]  # fmt: skip
        variables = list(dict.fromkeys(owner[one].tolist()))
        carried = added[two][:, variables].toarray() * sign[variables] * scale[two, None]
        return Ledger(
            loads.toarray() if loads.shape[0] * loads.shape[1] <= MOST_FULL else loads,
            rows.worth[:n].astype(np.float32),
            tuple(np.flatnonzero(piece == i) for i in range(int(piece.max()) + 1)),
            levels[0], levels[1], np.ascontiguousarray(carried.T, dtype=np.float32),
            rows.high[hard].astype(np.float32),
        )  # fmt: skip

    def adding(self, which: Ints | int) -> Singles:
        """(n, n_rows) or (n_rows,), what some placements, or one, add to the rows."""
        some = self.columns[which]
        out: Singles = some if isinstance(some, np.ndarray) else some.toarray()
        return out

    def load(self, chosen: Ints) -> Singles:
        """(n_rows,), what some placements add to the rows together."""
        out: Singles = self.adding(chosen).sum(axis=0)
        return out

    def values(self, load: Singles, worth: Singles | float) -> Singles:
        """(m,), in units, of m layouts that load the rows (m, n_rows) and whose placements
        alone are worth (m,).
        """
        n, n_more = len(self.first.low), len(self.second.low)
        reached = self.first.reached(load[:, :n])
        sums = load[:, n : n + n_more] + reached @ self.carried
        broken = np.maximum(load[:, n + n_more :] - self.most, 0).sum(axis=1)
        total: Singles = worth + reached @ self.first.worth
        total = total + self.second.reached(sums) @ self.second.worth
        total = total - np.float32(BROKEN) * broken
        return total

    def value(self, chosen: Ints) -> float:
        """What one whole layout is worth, in units."""
        worth = self.worth[chosen].sum()
        return float(self.values(self.load(chosen)[None], worth)[0])

    def is_allowed(self, chosen: Ints) -> bool:
        """Does a whole layout keep every hard rule?"""
        start = len(self.first.low) + len(self.second.low)
        return bool((self.load(chosen)[start:] <= self.most).all())

    def with_piece(self, load: Singles, worth: float, which: Ints) -> Singles:
        """(n,), what the layout would be worth with each of some placements added."""
        return self.values(load + self.adding(which), self.worth[which] + np.float32(worth))


def _owners(added: csr_array) -> tuple[Ints, Floats, Ints]:
    """For every row the last of the added variables in it, the size of its coefficient,
    and how many there are.
    """
    count = np.diff(added.indptr)
    owner, size = np.full(len(count), -1), np.zeros(len(count))
    for row in np.flatnonzero(count):
        span = slice(added.indptr[row], added.indptr[row + 1])
        last = int(added.indices[span].argmax())
        owner[row], size[row] = added.indices[span][last], abs(added.data[span][last])
    return owner, size, count


def _in_order(of: Ints, owner: Ints) -> Ints:
    """Rows by variable, those first that are alone with theirs."""
    alone = np.bincount(owner[of], minlength=1)[owner[of]] == 1 if len(of) else of == 0
    out: Ints = of[np.lexsort((owner[of], ~alone))]
    return out


def _level(of: Ints, owner: Ints, low: Floats, ends: Floats, worth: Floats) -> Level:
    variables = list(dict.fromkeys(owner[of].tolist()))
    n_rows = np.bincount(owner[of], minlength=len(ends))[variables]
    n_single = int((n_rows == 1).sum())
    starts = np.cumsum(n_rows)[n_single:] - n_rows[n_single:] - n_single
    return Level(
        low[of].astype(np.float32), n_single, starts,
        ends[variables].astype(np.float32), worth[variables].astype(np.float32),
    )  # fmt: skip
