"""A changed wish moves what it must, and leaves the rest of the layout as it was."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from panelbeater.assignment import (
    assign_again,
    assign_pieces,
    free_pieces,
    offer_placements,
)
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.drawing import Wishes
from tests.assignment.cutouts import standing_fold
from tests.assignment.small import COARSE, GROUND, small_figure, small_vehicle


def _before(**regions: str) -> Assignment:
    covers = tuple(
        Cover(name, region, np.eye(3), 1.0, 1.0, 0.0, "")
        for name, region in regions.items()
    )
    return Assignment(covers, 1.0, 1.0, "by hand", 0)


LAID = {"bed": "torso", "cab": "head", "door": "torso", "pane": "thigh_l", "bar": "hand_l",
        "rear": "shank_l", "front": "shank_r"}  # fmt: skip


def test_a_pin_frees_its_piece_and_what_lies_where_it_comes_from_and_goes() -> None:
    vehicle = small_vehicle(cab=Wishes(pin="torso"))
    names = [vehicle.pieces[i].id for i in free_pieces(vehicle, _before(**LAID))]
    assert sorted(names) == ["bed", "cab", "door"]


def test_wishes_that_are_kept_already_free_nothing() -> None:
    vehicle = small_vehicle(cab=Wishes(pin="head"), bed=Wishes(bans=("head",)))
    assert free_pieces(vehicle, _before(**LAID)) == frozenset()


def test_a_pinned_neighbour_stays() -> None:
    vehicle = small_vehicle(cab=Wishes(bans=("head",)), door=Wishes(pin="torso"))
    names = [vehicle.pieces[i].id for i in free_pieces(vehicle, _before(**LAID))]
    assert names == ["cab"]


@pytest.mark.solve
def test_laid_again_a_pin_is_kept_and_untouched_covers_stay_to_the_last_digit() -> None:
    vehicle, figure = small_vehicle(), small_figure()
    fold = standing_fold(figure)
    pool = offer_placements(vehicle, figure, ground=GROUND, options=COARSE)
    first = assign_pieces(vehicle, figure, fold, pool, seed=1, budget=0.03)
    where = {cover.piece: cover.region for cover in first.covers}
    target = "thigh_l" if where["door"] != "thigh_l" else "torso"
    asked = replace(
        vehicle,
        pieces=tuple(
            replace(p, wishes=Wishes(pin=target)) if p.id == "door" else p
            for p in vehicle.pieces
        ),
    )
    free = free_pieces(asked, first)
    again = assign_again(asked, figure, fold, pool, first, seed=1, budget=0.03)
    now = {cover.piece: cover.region for cover in again.covers}
    assert now["door"] == target
    for i, (old, new) in enumerate(zip(first.covers, again.covers, strict=True)):
        if i not in free:
            assert new is old
