"""A piece ends hidden only where that is allowed, or where nothing else fits."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from shapely import box

from panelbeater.assignment import Pool, assign_pieces, offer_placements
from panelbeater.assignment.stow import charge_stowed, stowed_placements
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing, Piece, Wishes
from tests.assignment.cutouts import standing_fold
from tests.assignment.small import COARSE, GROUND, small_figure, small_vehicle
from tests.vehicles import piece

FIGURE = small_figure()


def _allowed(*pieces: Piece, placed: set[int]) -> set[int]:
    return {place.piece for place in stowed_placements(pieces, FIGURE, placed)}


def test_only_an_allowed_piece_or_one_that_fits_nowhere_may_be_stowed() -> None:
    plain = piece("door", box(0, 0, 8, 12), 0)
    free = replace(plain, wishes=Wishes(stow=True))
    pinned = replace(plain, wishes=Wishes(pin="torso", stow=True))
    assert _allowed(plain, free, pinned, placed={0, 1, 2}) == {1}
    assert _allowed(plain, free, pinned, placed=set()) == {0, 1}


def test_a_banned_limb_hides_nothing_either() -> None:
    shy = piece("door", box(0, 0, 8, 12), 0, wishes=Wishes(bans=("torso",), stow=True))
    regions = {p.region for p in stowed_placements([shy], FIGURE, {0})}
    assert {FIGURE.bones[r].id for r in regions} == (
        {bone.id for bone in FIGURE.bones} - {"torso"}
    )


def test_what_is_stowed_covers_nothing_and_costs_its_price() -> None:
    shy = piece("door", box(0, 0, 8, 12), 0, wishes=Wishes(stow=True))
    places = list(stowed_placements([shy], FIGURE, {0}))
    price, covers = np.zeros(len(places)), np.ones((len(places), 4), dtype=bool)
    charge_stowed(places, price, covers, 0.04)
    assert set(price) == {0.04}
    assert not covers.any()


SHY = small_vehicle(bar=Wishes(stow=True))


@cache
def _pool() -> Pool:
    """Found once: the price of hiding changes no placement."""
    return offer_placements(SHY, FIGURE, ground=GROUND, options=COARSE)


def _laid(vehicle: Drawing, stow_price: float) -> Assignment:
    pool = replace(_pool(), options=replace(COARSE, stow_price=stow_price))
    fold = standing_fold(FIGURE)
    return assign_pieces(vehicle, FIGURE, fold, pool, seed=1, budget=0.03)


@pytest.mark.solve
@pytest.mark.parametrize(("price", "hidden"), [(-5.0, ["bar"]), (5.0, [])])
def test_the_price_decides_whether_an_allowed_piece_is_hidden(
    price: float, hidden: list[str]
) -> None:
    found = _laid(SHY, price)
    assert [c.piece for c in found.covers if c.stowed] == hidden
    assert all(c.gain == 0.0 and "hidden" in c.reason for c in found.covers if c.stowed)
