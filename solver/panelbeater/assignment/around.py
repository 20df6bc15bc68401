"""Finds placements that one layout in particular lacks, whatever the prices of all said."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from panelbeater.assignment.candidates import Placement
from panelbeater.assignment.prices import Folded, ride_prices
from panelbeater.assignment.search import Search, Worths
from panelbeater.assignment.sight import blocks_of
from panelbeater.assignment.table import Case
from panelbeater.terms.arrays import Ints

SAME = 1e-6
"""Placements whose matrices differ by less are one."""


def placements_around(
    search: Search, case: Case, chosen: Ints, folded: Folded
) -> Iterator[Placement]:
    """For every piece the best placements of the raster that are not in the pool, were all
    other pieces to lie as `chosen` (n_pieces,).

    Only on regions where the pool has it; what mirrors and twins pay is left out. Grows as
    one round of pricing does.
    """
    full, block = search.plain_worths(), blocks_of(search.cells)
    sight, options = case.sight, search.options
    for i, ways in enumerate(search.ways):
        mine = [place for place in case.placements if place.piece == i]
        if len(mine) == 1:
            continue  # it is to stay where it is
        rest = np.delete(chosen, i)
        is_bare = ~case.covers[rest].any(axis=0)
        left = np.maximum(0, sight.room - sight.shows[rest].sum(axis=0)) / sight.room
        worths = Worths(
            np.where(is_bare, full.own, 0.0), full.seen * left[block], full.seen_off
        )
        regions = {place.region for place in mine if not place.stowed}
        found: list[Placement] = []
        for window in search.windows:
            if window.index in regions:
                values = window.values(ways, worths)
                values -= ride_prices(np.array(i), np.array(window.index), window.spots,
                                      search.figure, folded, options)  # fmt: skip
                found += window.placements(ways, values, 2)
        known = np.array([place.stage_from_piece for place in mine])
        fresh = [
            place
            for place in sorted(found, key=lambda place: (-place.score, place.region))
            if np.abs(known - place.stage_from_piece).max(axis=(1, 2)).min() > SAME
        ]
        yield from fresh[: options.per_round]
