"""What each placement covers, shows and spills, counted on the lattice of the cells.

The search counts on the same lattice, so that a price found here is the price seen there.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from panelbeater.assignment.candidates import Placement
from panelbeater.assignment.cells import lattice
from panelbeater.assignment.prices import taste_prices
from panelbeater.assignment.search import Search
from panelbeater.assignment.sight import Sight, blocks_of
from panelbeater.terms.arrays import Floats, Points


def cover_matrix(search: Search, placements: Sequence[Placement]) -> np.ndarray:
    """(n_placements, n_cells) bool: cells of its own region that each placement covers."""
    cells = search.cells
    covers = np.zeros((len(placements), len(cells.weight)), dtype=bool)
    for j, place in enumerate(placements):
        mine = cells.of(place.region)
        covers[j, mine] = search.ways[place.piece].covers(place, cells.points[mine])
    return covers


def sight_of(search: Search, placements: Sequence[Placement]) -> Sight:
    """What every placement would show of the vehicle; nothing where it is resized."""
    cells, figure = search.cells, search.figure
    block = blocks_of(cells)
    room = np.bincount(block)
    shows = np.zeros((len(placements), len(room)), dtype=np.int64)
    off = np.zeros(len(placements))
    for j, place in enumerate(placements):
        ways = search.ways[place.piece]
        if place.stowed or not ways.form.is_kept(place.scale, place.stretch):
            continue
        seen = ways.shows(place, cells.points)
        shows[j] = np.bincount(block[seen], minlength=len(room))
        round_it = _round(place, cells.step)
        shown = round_it[ways.shows(place, round_it)]
        off[j] = len(shown) - shapely.contains_xy(figure.silhouette, shown).sum()
    return Sight(shows, room, search.cell_bonus, off)


def still_prices(search: Search, placements: Sequence[Placement]) -> Floats:
    """(n_placements,) prices that no fold changes, share of the figure: spill, span onto
    other regions, and matters of taste.
    """
    figure, options, step = search.figure, search.options, search.cells.step
    price = taste_prices(search.pieces, placements, figure, options)
    area = step**2 / figure.silhouette.area
    for j, place in enumerate(placements):
        around = _round(place, step)
        under = around[search.ways[place.piece].covers(place, around)]
        inside = under[shapely.contains_xy(figure.silhouette, under)]
        n_own = int(shapely.contains_xy(figure.bones[place.region].region, inside).sum())
        price[j] += area * options.spill_price * (len(under) - len(inside))
        price[j] += area * options.span_price * (len(inside) - n_own)
    return price


def _round(place: Placement, step: float) -> Points:
    """(n, 2), lattice points in the box of a placement."""
    x0, y0, x1, y1 = place.outline.bounds
    low = np.floor(np.array([x0, y0]) / step).astype(np.int64) - 1
    n = np.ceil(np.array([x1, y1]) / step).astype(np.int64) + 1 - low
    return lattice(low, int(n[0]), int(n[1]), step).reshape(-1, 2)
