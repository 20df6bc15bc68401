"""Grows the pool where it pays, and bounds what any placement of the raster could add."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse import csc_array, csr_array, hstack

from panelbeater.assignment.candidates import Placement
from panelbeater.assignment.prices import Folded, ride_prices, way_prices
from panelbeater.assignment.relax import relax, without_rows
from panelbeater.assignment.rows import Rows, open_ended, rows_of
from panelbeater.assignment.sampling import cover_matrix, sight_of, still_prices
from panelbeater.assignment.search import Search, Worths, may_cover
from panelbeater.assignment.sight import blocks_of
from panelbeater.assignment.solve import build
from panelbeater.assignment.table import UNIT, Case
from panelbeater.effort import Effort
from panelbeater.terms.arrays import Floats, Ints

AT_ONCE = 256
"""Rows or columns that are written out in full at a time; 240 pieces have thousands."""


@dataclass(frozen=True, slots=True, eq=False)
class Grown:
    """A pool that has what matters, and a bound on what it lacks."""

    placements: tuple[Placement, ...]
    bound: float
    """No layout of raster placements is worth more, share of the figure."""
    n_tried: int
    """Placements the bound speaks of."""


def grow(search: Search, case: Case, folded: Folded, *, effort: Effort) -> Grown:
    """Solve the relaxed model, find the placements its prices call for, and again.

    The rows of cells and of blocks price every placement; all other rows add a price for
    its piece on its region. Where they tell placements of that pair apart, a new one gets
    the most permissive of their coefficients, which only loosens the bound. Each piece lies
    once, so what the rest is worth under the duals plus, piece by piece, the most that any
    placement could add is never below the best layout.
    """
    master = _Master.of(search, case)
    bound, centre, n_tried = np.inf, np.zeros(0), 0
    for _ in range(search.options.n_rounds):
        effort.note(f"pricing new placements against {len(master.placements)}")
        try:
            answer = relax(master.rows)
        except ValueError:  # wishes that clash: told where the layout is chosen
            break
        duals = answer.duals
        if len(centre):
            # Duals jump from round to round; near the best so far they tell more.
            duals = search.options.steadiness * centre
            duals += (1 - search.options.steadiness) * answer.duals
        fresh, reached, n_tried = _priced(master, duals, folded)
        if reached < bound:
            bound, centre = reached, duals
        is_close = bound - answer.value <= search.options.growth_gap * answer.value
        if not fresh or is_close or effort.is_stopped:
            break
        master = master.grown(fresh, folded)
    return Grown(tuple(master.placements), bound / UNIT, n_tried)


@dataclass(frozen=True, slots=True, eq=False)
class _Master:
    """The relaxed model: rows, and how a new placement enters them."""

    search: Search
    placements: list[Placement]
    rows: Rows
    """Placements come last, so that the pool can grow; other variables first."""
    cover_rows: Ints
    """(n_cells,), row of each cell or -1."""
    sight_rows: Ints
    """(n_blocks,)"""
    pair: Floats
    """(n_pieces, n_regions, n_plain_rows), coefficients in all other rows."""
    plain_rows: Ints
    """(n_plain_rows,)"""
    known: np.ndarray
    """(n_pieces, n_regions) bool: pairs with a placement to copy the coefficients of."""

    @staticmethod
    def of(search: Search, case: Case) -> _Master:
        model, table = build(case)
        rows = rows_of(model, len(table.chosen))
        n = len(case.placements)
        cover = np.full(len(case.cells.weight), -1, dtype=np.int64)
        cover[list(table.cover_rows)] = list(table.cover_rows.values())
        sight = np.full(len(case.sight.room), -1, dtype=np.int64)
        sight[list(table.sight_rows)] = list(table.sight_rows.values())
        plain = np.ones(len(rows.low), dtype=bool)
        plain[cover[cover >= 0]] = plain[sight[sight >= 0]] = False
        piece = np.array([place.piece for place in case.placements])
        region = np.array([place.region for place in case.placements])
        n_regions = len(case.figure.bones)
        key = piece * n_regions + region
        shown = ~np.array([place.stowed for place in case.placements])
        known = np.zeros(len(case.pieces) * n_regions, dtype=bool)
        known[key[shown]] = True
        # Where placements of one pair differ, a new one is taken for the most permissive.
        at_least = np.isfinite(open_ended(rows.low[plain]))[:, None]
        at_most = np.isfinite(open_ended(rows.high[plain]))[:, None]
        here = csr_array(rows.rows[plain])[:, :n][:, shown]
        uneven = np.zeros(here.shape[0], dtype=bool)
        pair, n_even = np.empty((here.shape[0], len(known))), 0
        for at in range(0, here.shape[0], AT_ONCE):
            some = slice(at, at + AT_ONCE)
            dense = here[some].toarray().T  # (n_shown, n_rows)
            high = np.full((dense.shape[1], len(known)), -np.inf)
            low = np.full_like(high, np.inf)
            np.maximum.at(high.T, key[shown], dense)
            np.minimum.at(low.T, key[shown], dense)
            differ = ((high != low) & known).any(axis=1)
            uneven[some] = differ & (at_least & at_most)[some, 0]
            even = np.where(known, np.where(at_least[some], high, low), 0.0)[~uneven[some]]
            pair[n_even : n_even + len(even)] = even
            n_even += len(even)
        pair = pair[:n_even]
        dropped = np.zeros(len(rows.low), dtype=bool)
        dropped[np.flatnonzero(plain)[uneven]] = True
        index = np.cumsum(~dropped) - 1
        rows = without_rows(rows, dropped)
        order = np.concatenate([np.arange(n, len(rows.worth)), np.arange(n)])
        rows = Rows(
            rows.worth[order], csr_array(csc_array(rows.rows)[:, order]),
            rows.low, rows.high, rows.lower[order], rows.upper[order], rows.whole[order],
        )  # fmt: skip
        return _Master(
            search, list(case.placements), rows,
            np.where(cover >= 0, index[cover], -1), np.where(sight >= 0, index[sight], -1),
            pair.T.reshape(len(case.pieces), n_regions, -1),
            index[np.flatnonzero(plain)[~uneven]],
            known.reshape(len(case.pieces), n_regions),
        )  # fmt: skip

    def worths(self, duals: Floats) -> Worths:
        """What the duals pay for each cell, share of the figure."""
        search = self.search
        full = search.plain_worths()
        # A cell without a row pays its full area to whoever covers it first.
        own = np.where(self.cover_rows >= 0, -duals[self.cover_rows] / UNIT,
                       search.cells.weight)  # fmt: skip
        block = blocks_of(search.cells)
        row = self.sight_rows[block]
        seen = np.where(row >= 0, -duals[row] / UNIT, full.seen)
        return Worths(own, seen, full.seen_off)

    def apart_from_pieces(self, duals: Floats) -> float:
        """The most that everything but the placements can be worth under these duals."""
        rows, n = self.rows, len(self.rows.worth) - len(self.placements)
        net = rows.worth[:n] - duals @ rows.rows[:, :n]
        ends = np.where(duals > 0, rows.high, rows.low)
        right = float(duals[duals != 0] @ ends[duals != 0])
        return right + float(np.maximum(net * rows.lower[:n], net * rows.upper[:n]).sum())

    def most_in_pool(self, duals: Floats) -> Floats:
        """(n_pieces,), the best of each piece's placements under these duals, in units."""
        rows, n = self.rows, len(self.placements)
        net = rows.worth[-n:] - duals @ rows.rows[:, -n:]
        best = np.full(len(self.search.pieces), -np.inf)
        np.maximum.at(best, [place.piece for place in self.placements], net)
        return best

    def grown(self, fresh: list[Placement], folded: Folded) -> _Master:
        """With the new placements as columns."""
        search = self.search
        price = still_prices(search, fresh)
        price += way_prices(fresh, search.figure, folded, search.options)
        covers, sight = cover_matrix(search, fresh), sight_of(search, fresh)
        piece = np.array([place.piece for place in fresh])
        region = np.array([place.region for place in fresh])
        has, seen = self.cover_rows >= 0, self.sight_rows >= 0
        columns = []
        for at in range(0, len(fresh), AT_ONCE):
            some = slice(at, at + AT_ONCE)
            full = np.zeros((len(self.rows.low), len(piece[some])))
            full[self.cover_rows[has]] = covers[some, has].T
            full[self.sight_rows[seen]] = sight.shows[some, seen].T
            full[self.plain_rows] = self.pair[piece[some], region[some]].T
            columns.append(csr_array(full))
        worth = sight.worth * sight.off - price
        rows = self.rows
        n = len(fresh)
        return replace(
            self,
            placements=[*self.placements, *fresh],
            rows=Rows(
                np.concatenate([rows.worth, np.round(worth * UNIT)]),
                csr_array(hstack([rows.rows, *columns])),
                rows.low, rows.high,
                np.concatenate([rows.lower, np.zeros(n)]),
                np.concatenate([rows.upper, np.ones(n)]),
                np.concatenate([rows.whole, np.ones(n, dtype=np.int64)]),
            ),
        )  # fmt: skip


def _priced(
    master: _Master, duals: Floats, folded: Folded
) -> tuple[list[Placement], float, int]:
    """Placements better than any in the pool under these duals, a bound on every layout (in
    units), and how many placements were tried.
    """
    search = master.search
    options = search.options
    worths = master.worths(duals)
    constant = master.pair @ duals[master.plain_rows] / UNIT  # (n_pieces, n_regions)
    most = master.most_in_pool(duals) / UNIT
    fresh: list[Placement] = []
    n_tried = 0
    for i, ways in enumerate(search.ways):
        wanted = float(most[i]) + options.worth_adding
        found: list[Placement] = []
        for window in search.windows:
            if not master.known[i, window.index] or not may_cover(
                ways.piece, window.bone.id
            ):
                continue
            values = window.values(ways, worths) - constant[i, window.index]
            values -= ride_prices(np.array(i), np.array(window.index), window.spots,
                                  search.figure, folded, options)  # fmt: skip
            n_tried += values.size
            most[i] = max(most[i], float(values.max()))
            if values.max() > wanted:
                better = window.placements(ways, values, options.per_round // 2)
                found += [place for place in better if place.score > wanted]
        found.sort(key=lambda place: (-place.score, place.region))
        fresh += found[: options.per_round]
    return fresh, master.apart_from_pieces(duals) + UNIT * float(most.sum()), n_tried
