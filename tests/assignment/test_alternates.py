"""Alternates are different ideas, and clashing wishes are named."""

from __future__ import annotations

from itertools import combinations
from typing import cast

import numpy as np
import pytest
import shapely

from panelbeater.assignment import assign_alternates, nearest_fold, offer_placements
from panelbeater.assignment.alternates import DIFFERENT, layout_of
from panelbeater.errors import NoAssignmentError
from panelbeater.terms.drawing import Allowance, Shape, Wishes
from panelbeater.terms.pose import Fold, Pose
from tests.assignment.cutouts import standing_fold
from tests.assignment.small import COARSE, GROUND, small_figure, small_vehicle
from tests.assignment.tiny import tile_figure
from tests.vehicles import drawing, piece

pytestmark = pytest.mark.solve


def test_alternates_differ_pairwise_in_a_fifth_of_the_pieces() -> None:
    vehicle, figure = small_vehicle(), small_figure()
    pool = offer_placements(vehicle, figure, ground=GROUND, options=COARSE)
    found = assign_alternates(
        vehicle, figure, standing_fold(figure), pool, n_alternates=3, seed=1, budget=0.2
    )
    assert len(found) == 3
    layouts = [layout_of(one.assignment) for one in found]
    least = int(np.ceil(DIFFERENT * len(vehicle.pieces)))
    for one, other in combinations(layouts, 2):
        assert sum(_stem(one[p]) != _stem(other[p]) for p in one) >= least
    assert found[0].loss == 0.0
    assert len({one.name for one in found}) == 3


def _stem(region: str) -> str:
    return region[:-2] if region[-2:] in ("_l", "_r") else region


def test_one_piece_on_one_region_leaves_no_alternate() -> None:
    figure = small_figure()
    vehicle = drawing(
        piece("door", cast(Shape, shapely.box(0, 0, 8, 12)), 0, wishes=Wishes(pin="torso"))
    )
    pool = offer_placements(vehicle, figure, ground=GROUND, options=COARSE)
    found = assign_alternates(
        vehicle, figure, standing_fold(figure), pool, n_alternates=4, seed=1, budget=0.1
    )
    assert [one.name for one in found] == ["on balance"]


def test_a_clash_names_only_the_wishes_that_clash() -> None:
    tiles = [shapely.box(10 * i, 0, 10 * i + 6, 6) for i in range(15)]
    figure = tile_figure(tiles)
    rigid = Allowance(scale_min=1.0, scale_max=1.0, stretch_max=1.0)
    vehicle = drawing(
        piece("lamp", shapely.box(12, 22, 17, 27), 0, "lamp", signature=True,
              allowance=rigid, wishes=Wishes(pin="head")),
        piece("plate", shapely.box(10, 20, 40, 50), 1, allowance=rigid,
              wishes=Wishes(pin="head")),
        piece("step", shapely.box(50, 20, 55, 25), 2, allowance=rigid,
              wishes=Wishes(pin="foot_l")),
    )  # fmt: skip
    pool = offer_placements(vehicle, figure, ground=600.0, options=COARSE)
    with pytest.raises(NoAssignmentError) as caught:
        assign_alternates(
            vehicle, figure, standing_fold(figure), pool, n_alternates=1, seed=1, budget=0.1
        )
    text = str(caught.value)
    assert "pin lamp to head" in text
    assert "pin plate to head" in text
    assert "keep lamp in view" in text
    assert "step" not in text


def test_the_fold_nearest_to_the_pieces_is_taken() -> None:
    vehicle, figure = small_vehicle(), small_figure()
    near = standing_fold(figure)
    away = Pose(near.pose.root + 1000.0, near.pose.turns, near.pose.scales)
    far = Fold(away, 0.0, 1.0, 1.0)
    pool = offer_placements(vehicle, figure, ground=GROUND, options=COARSE)
    (found,) = assign_alternates(
        vehicle, figure, near, pool, n_alternates=1, seed=1, budget=0.1
    )
    chosen = nearest_fold(vehicle, figure, (far, near), found.assignment, pool)
    assert chosen is near
