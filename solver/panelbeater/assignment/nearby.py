"""What moving one piece changes: the few rows of a ledger that its placements touch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from panelbeater.assignment.ledger import Ledger, Level, Singles
from panelbeater.terms.arrays import Flags, Ints


@dataclass(frozen=True, slots=True, eq=False)
class Nearby:
    """The part of a ledger that hangs on where one piece lies. All else is the same
    wherever it goes: of 240 pieces each touches a few hundred of some eight thousand rows.
    """

    ledger: Ledger
    """Of the placements of this piece alone, in the order of `Ledger.of_piece`."""
    rows: Ints
    """(n_rows of `ledger`,), the rows of the whole ledger that it keeps."""
    variables: Ints
    """Of the whole ledger's first level, those that it keeps."""

    @staticmethod
    def of(whole: Ledger, piece: int) -> Nearby:
        """Rows that no placement of the piece loads are left out, unless another row of the
        same variable is loaded; those that add up variables all stay.
        """
        mine = whole.of_piece[piece]
        adding = whole.adding(mine)
        n, n_more = len(whole.first.low), len(whole.second.low)
        loaded = (adding != 0).any(axis=0)
        owner = _owner(whole.first)
        keeps = np.zeros(len(whole.first.most), dtype=np.bool_)
        keeps[owner[loaded[:n]]] = True
        variables = np.flatnonzero(keeps)
        hard = np.flatnonzero(loaded[n + n_more :])
        rows = np.concatenate(
            [np.flatnonzero(keeps[owner]), np.arange(n, n + n_more), n + n_more + hard]
        )
        ledger = Ledger(
            adding[:, rows], whole.worth[mine], (np.arange(len(mine)),),
            _only(whole.first, keeps), whole.second, whole.carried[variables],
            whole.most[hard],
        )  # fmt: skip
        return Nearby(ledger, rows, variables)

    def gains(
        self, load: Singles, reached: Singles, carried: Singles, here: int
    ) -> Singles:
        """(n_ways,), in units, what the layout is worth more with the piece on each of its
        placements than `here`, the number of the one it has.

        load : (n_rows,) of the whole ledger; reached : (n_variables,) of its first level;
        carried : (n_rows of second,), what all those add to the second.
        """
        mine = self.ledger
        load = load[self.rows]
        n, n_more = len(mine.first.low), len(mine.second.low)
        load[n : n + n_more] += carried - reached[self.variables] @ mine.carried
        worth = mine.with_piece(load - mine.columns[here], 0.0, mine.of_piece[0])
        gains: Singles = worth - worth[here]
        return gains


def _owner(level: Level) -> Ints:
    """(n_rows,), the variable that each row ties down."""
    firsts = np.concatenate([np.arange(level.n_single), level.n_single + level.starts])
    counts = np.diff(firsts, append=len(level.low))
    out: Ints = np.repeat(np.arange(len(counts)), counts)
    return out


def _only(level: Level, keeps: Flags) -> Level:
    """The level with some of its variables (n_variables,) alone."""
    owner = _owner(level)
    n_single = int(keeps[: level.n_single].sum())
    counts = np.bincount(owner, minlength=len(keeps))[keeps][n_single:]
    return Level(
        level.low[keeps[owner]], n_single, np.cumsum(counts) - counts,
        level.most[keeps], level.worth[keeps],
    )  # fmt: skip
