"""Growing the pool: duals price every placement, and the bound holds for all of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from panelbeater.assignment import AssignmentOptions, offer_placements
from panelbeater.assignment.assign import case_of, grow_pool
from panelbeater.assignment.relax import relax
from panelbeater.assignment.rows import Rows, rows_of
from panelbeater.assignment.sampling import cover_matrix, sight_of, still_prices
from panelbeater.assignment.search import Search
from panelbeater.assignment.solve import build
from panelbeater.assignment.table import UNIT, Case
from tests.assignment.cutouts import standing_fold
from tests.assignment.small import COARSE, GROUND, small_figure, small_vehicle
from tests.assignment.tiny import tile_figure
from tests.vehicles import drawing, piece

pytestmark = pytest.mark.solve


def test_what_the_search_counts_is_what_the_model_counts() -> None:
    vehicle, figure = small_vehicle(), small_figure()
    search = Search.over(vehicle.pieces, figure, GROUND, COARSE)
    worths = search.plain_worths()
    for ways in search.ways[:3]:
        window = search.windows[1]
        values = window.values(ways, worths)
        found = window.placements(ways, values, 4)
        cells = cover_matrix(search, found).sum(axis=1)
        sight = sight_of(search, found)
        shown = sight.shows.sum(axis=1) + sight.off
        counted = cells * worths.own[0] + sight.worth * shown - still_prices(search, found)
        assert [place.score for place in found] == pytest.approx(counted.tolist(), abs=3e-5)


def test_growing_lifts_the_relaxed_value_and_never_above_the_bound() -> None:
    vehicle, figure = small_vehicle(), small_figure()
    fold = standing_fold(figure)
    pool = offer_placements(vehicle, figure, ground=GROUND, options=COARSE)
    grown = grow_pool(vehicle, figure, fold, pool)
    before, after = (
        relax(_rows(case_of(vehicle, figure, fold, one))).value / UNIT
        for one in (pool, grown)
    )
    assert set(pool.placements) <= set(grown.placements)
    assert before < after <= grown.bound + 1e-6
    assert grown.n_tried > 100 * len(grown.placements)


def _rows(case: Case) -> Rows:
    model, table = build(case)
    return rows_of(model, len(table.chosen))


def test_the_bound_is_tight_over_the_raster_where_there_is_one_piece() -> None:
    figure = tile_figure([box(0, 0, 40, 20)], speck=1e-3)
    vehicle = drawing(piece("plate", box(0, 30, 40, 50), 0))
    plain = AssignmentOptions(
        n_cells=200, keep_bonus=0.0, travel_price=0.0, gap_price=0.0, region_minimum=0.0,
        balance_price=0.0, growth_gap=0.0, n_rounds=12,
    )  # fmt: skip
    pool = offer_placements(vehicle, figure, ground=500.0, options=plain)
    grown = grow_pool(vehicle, figure, standing_fold(figure), pool)
    search = Search.over(vehicle.pieces, figure, 500.0, plain)
    worths = replace(search.plain_worths(), own=search.cells.weight)
    best = max(w.values(search.ways[0], worths).max() for w in search.windows)
    assert best - 1e-5 <= grown.bound <= 1.005 * best


def test_duals_of_a_relaxed_model_price_its_rows() -> None:
    vehicle, figure = small_vehicle(), small_figure()
    pool = offer_placements(vehicle, figure, ground=GROUND, options=COARSE)
    case = case_of(vehicle, figure, standing_fold(figure), pool)
    rows = _rows(case)
    answer = relax(rows)
    net = rows.worth - answer.duals @ rows.rows
    ends = np.where(answer.duals > 0, rows.high, rows.low)
    used = np.abs(answer.duals) > 1e-9
    most = np.maximum(net * rows.lower, net * rows.upper).sum()
    assert answer.duals[used] @ ends[used] + most == pytest.approx(answer.value, rel=1e-6)
