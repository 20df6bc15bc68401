"""A search tells each better layout, and goes on from an earlier one, never to a worse."""

from __future__ import annotations

from dataclasses import replace

import pytest

from panelbeater.assignment import assign_pieces, offer_placements
from panelbeater.terms.assignment import Assignment
from tests.assignment.cutouts import standing_fold
from tests.assignment.small import COARSE, GROUND, small_figure, small_vehicle

SEARCHED = replace(COARSE, small_pool=0, n_goes=40)
"""No pool is small enough to be solved whole."""


@pytest.mark.solve
def test_each_better_layout_is_told_and_the_next_search_begins_no_worse() -> None:
    vehicle, figure = small_vehicle(), small_figure()
    fold = standing_fold(figure)
    pool = offer_placements(vehicle, figure, ground=GROUND, options=SEARCHED)
    told: list[Assignment] = []
    done = assign_pieces(vehicle, figure, fold, pool, seed=1, keep=told.append)
    values = [layout.value for layout in told]
    assert len(values) == 1 + SEARCHED.n_more_rounds
    assert values == sorted(values)
    assert done.value == pytest.approx(values[-1], abs=1e-4)
    assert [c.piece for c in told[0].covers] == [p.id for p in vehicle.pieces]

    again: list[Assignment] = []
    short = replace(pool, options=replace(SEARCHED, n_goes=0))
    plain = assign_pieces(vehicle, figure, fold, short, seed=1)
    on = assign_pieces(
        vehicle, figure, fold, short, seed=1, keep=again.append, so_far=told[-1]
    )
    assert plain.value < values[-1] - 1e-3  # without goes there is less
    assert again[0].value >= values[-1] - 1e-4
    assert on.value >= values[-1] - 1e-4
