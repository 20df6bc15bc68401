"""Sizes are taken back where nobody would miss them, and told as they are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from panelbeater.assignment import AssignmentOptions, hide_sizes
from panelbeater.assignment.bending import BENT, bend_covers
from panelbeater.assignment.candidates import laid_again
from panelbeater.assignment.draft import draft_pieces
from panelbeater.assignment.reasons import gains_of
from panelbeater.geometry.frames import moved
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.drawing import Drawing
from tests.assignment.cutouts import standing_fold
from tests.assignment.small import GROUND, small_figure, small_vehicle
from tests.assignment.tiny import tile_figure
from tests.vehicles import drawing, piece

FIGURE = small_figure()
TILE = tile_figure([box(0, 0, 80, 20)], speck=1e-3)


def _resized(cover: Cover, size: float) -> Cover:
    place = cover.stage_from_piece @ np.diag([size, size, 1.0])
    return replace(cover, stage_from_piece=place, scale=cover.scale * size)


def _drafted(vehicle: Drawing) -> Assignment:
    """A layout with pieces of several sizes, bent where that pays."""
    done = draft_pieces(vehicle, FIGURE, standing_fold(FIGURE), ground=GROUND)
    sizes = np.resize([0.9, 1.05, 1.1], len(done.covers))
    covers = [_resized(c, s) for c, s in zip(done.covers, sizes.tolist(), strict=True)]
    return replace(done, covers=bend_covers(vehicle.pieces, FIGURE, covers, GROUND))


def _sizes(layout: Assignment) -> list[float]:
    return [abs(float(np.log(cover.scale))) for cover in layout.covers]


@pytest.fixture(scope="module")
def drafted() -> Assignment:
    return _drafted(small_vehicle())


def test_where_all_is_hidden_the_layout_is_itself(drafted: Assignment) -> None:
    rooms = np.array(_sizes(drafted))
    assert rooms.max() > 0.05
    assert hide_sizes(small_vehicle(), FIGURE, drafted, rooms, ground=GROUND) is drafted


def test_nothing_is_resized_further_than_its_way_hides(drafted: Assignment) -> None:
    options = AssignmentOptions(seen_price=1e3)
    rooms = np.array([0.0, 0.02, 0.0, 0.01, 0.0, 0.03, 0.0])
    suited = hide_sizes(
        small_vehicle(), FIGURE, drafted, rooms, ground=GROUND, options=options
    )
    assert all(
        size <= room + 1e-6 for size, room in zip(_sizes(suited), rooms, strict=True)
    )
    assert [c.region for c in suited.covers] == [c.region for c in drafted.covers]


def test_what_is_resized_anew_stays_above_the_ground(drafted: Assignment) -> None:
    small = replace(drafted, covers=tuple(_resized(c, 0.8) for c in drafted.covers))
    suited = hide_sizes(small_vehicle(), FIGURE, small, np.zeros(7), ground=GROUND)
    laid = laid_again(small_vehicle(), suited)
    assert max(place.outline.bounds[3] for place in laid) <= GROUND + 1e-6


def test_a_cover_tells_the_gain_it_has_then(drafted: Assignment) -> None:
    suited = hide_sizes(small_vehicle(), FIGURE, drafted, np.zeros(7), ground=GROUND)
    gains = gains_of(laid_again(small_vehicle(), suited), FIGURE)
    for cover, gain in zip(suited.covers, gains, strict=True):
        assert cover.gain == pytest.approx(gain, abs=1e-3)
        assert cover.reason.count(BENT) == (cover.bend is not None)
        if cover.bend is None:
            told = f"gives {cover.region} {cover.gain:.1%}"
            assert cover.reason.startswith((told, f"lies on {cover.region}"))


@pytest.mark.parametrize(("price", "larger"), [(0.5, True), (3.0, False)])
def test_a_plate_is_seen_growing_only_where_that_covers_enough(
    price: float, *, larger: bool
) -> None:
    # Growing by a hair wins twice its area on bare tile; neither side reaches the edge.
    plate = drawing(piece("plate", box(0, 0, 40, 10), 0))
    place = moved(40, 10) @ np.diag([1.2, 1.2, 1.0])
    cover = Cover("plate", TILE.bones[0].id, place, 1.2, 1.0, 0.3, "gives")
    layout = Assignment((cover,), 0.0, 0.0, "by hand", 1)
    options = AssignmentOptions(seen_price=price, keep_bonus=0.0)
    suited = hide_sizes(plate, TILE, layout, np.zeros(1), ground=500.0, options=options)
    assert (suited.covers[0].scale > 1.01) == larger
