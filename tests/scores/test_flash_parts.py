"""The parts of the flash meter, each against a plain account of the same."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from panelbeater.scores import measure_flashes
from panelbeater.scores.arrays import Flags
from panelbeater.scores.flash.concurrent import film_frame
from panelbeater.scores.flash.field import (
    WHOLE_SCREEN,
    field_share,
    flashes_over_area,
    together,
)
from panelbeater.scores.flash.transitions import GeneralTurns, RedTurns

Light = tuple[float, float, float]
RED, LIGHT_RED, ORANGE = (1.0, 0.0, 0.0), (1.0, 0.24, 0.0), (1.0, 0.27, 0.0)
GREY, BLUE = (0.5, 0.5, 0.5), (0.0, 0.0, 1.0)
# From u'v': red to light red 0.14, light red to grey 0.13, red to grey 0.26, light red to
# blue 0.40, orange to light red 0.01. R / (R + G + B) is 1, 0.806 and, of orange, 0.787.


def _walk(sort: type[GeneralTurns | RedTurns], lights: Sequence[Light]) -> list[str]:
    """What one spot does at each picture after the first: way and length, or nothing."""
    pictures = [np.array([[light]]) for light in lights]
    meter, told = sort(pictures[0]), []
    for picture in pictures[1:]:
        turned = meter.turn(picture)
        way = int(turned.way[0, 0])
        told.append(f"{'+' if way > 0 else '-'}{turned.length[0, 0]}" if way else "")
    return told


def _greys(*levels: float) -> list[str]:
    return _walk(GeneralTurns, [(level, level, level) for level in levels])


def test_a_transition_lasts_from_where_its_spot_left_its_valley_or_peak() -> None:
    assert _greys(0.5, 0.5, 0.5, 0.55, 0.62) == ["", "", "", "+2"]
    assert _greys(0.5, 0.5, 0.45, 0.38) == ["", "", "-2"]
    assert _greys(0.5, 0.52, 0.56, 0.62) == ["", "", "+3"]
    assert _greys(0.5, 0.62, 0.62, 0.51) == ["+1", "", "-1"]
    # A tenth of the step is not yet on the way; a little more is.
    assert _greys(0.5, 0.509, 0.62) == ["", "+1"]
    assert _greys(0.5, 0.511, 0.62) == ["", "+2"]
    assert _greys(0.5, 0.491, 0.38) == ["", "-1"]
    assert _greys(0.5, 0.489, 0.38) == ["", "-2"]


def test_a_spot_turns_by_a_tenth_the_other_way_and_where_the_darker_is_dark() -> None:
    assert _greys(0.3, 0.41, 0.52, 0.63) == ["+1", "", ""]  # one rise, however long
    assert _greys(0.5, 0.55, 0.49, 0.4) == ["", "", "-2"]  # from the peak at 0.55
    assert _greys(0.85, 0.97, 0.85) == ["", ""]
    assert _greys(0.97, 0.85, 0.79, 0.9) == ["", "-2", "+1"]
    assert _greys(0.0, 0.1) == ["+1"]
    assert _greys(0.0, 0.0999) == [""]


@pytest.mark.parametrize(
    ("lights", "told"),
    [
        ((RED, GREY), ["-1"]),
        ((GREY, RED), ["+1"]),
        ((LIGHT_RED, GREY), [""]),  # too near
        ((LIGHT_RED, RED, GREY), ["", "-1"]),  # from its reddest
        ((RED, LIGHT_RED, GREY), ["", "-2"]),  # still from its reddest
        ((ORANGE, LIGHT_RED), [""]),
        ((ORANGE, BLUE, LIGHT_RED), ["", "+1"]),  # from its least red
        ((BLUE, ORANGE, LIGHT_RED), ["", "+2"]),
        ((RED, LIGHT_RED, RED), ["", ""]),
        ((GREY, BLUE, GREY), ["", ""]),
        ((BLUE, RED, RED, BLUE), ["+1", "", "-1"]),
    ],
)
def test_red_turns_from_the_reddest_or_the_least_red_state(
    lights: tuple[Light, ...], told: list[str]
) -> None:
    assert _walk(RedTurns, lights) == told


def _plainly_together(spots: Flags, tall: int, wide: int) -> tuple[Flags, float]:
    """Spots inside any tall x wide rectangle of which more than a quarter are spots, and
    the largest share of one.
    """
    found, most = np.zeros_like(spots), 0.0
    for top in range(spots.shape[0] - tall + 1):
        for left in range(spots.shape[1] - wide + 1):
            here = np.s_[top : top + tall, left : left + wide]
            share = spots[here].mean()
            most = max(most, float(share))
            if share > 0.25:
                found[here] |= spots[here]
    return found, most


def test_spots_flash_together_where_a_field_holds_enough_of_them() -> None:
    rng = np.random.default_rng(1)
    n_some = 0
    for density in np.linspace(0.05, 0.4, 40):
        spots = rng.random((12, 16)) < density
        wanted, most = _plainly_together(spots, 4, 4)
        field = (1 / 3, 1 / 4)
        assert np.array_equal(together(spots, field), wanted)
        assert field_share(spots, field) == pytest.approx(most)
        assert flashes_over_area(spots, field) is bool(most > 0.25)
        n_some += 0 < wanted.sum() < spots.sum()
    assert n_some > 10


def test_a_field_is_that_of_wcag_on_a_whole_screen() -> None:
    # 341 x 256 on 1024 x 768 pixels.
    assert pytest.approx((256 / 768, 341 / 1024), abs=1e-12) == WHOLE_SCREEN
    spots = np.zeros((768, 1024), dtype=np.bool_)
    spots[:256, :341] = True
    assert field_share(spots, WHOLE_SCREEN) == 1
    spots[0, 0] = False
    assert field_share(spots, WHOLE_SCREEN) == pytest.approx(1 - 1 / (256 * 341))


def test_a_lone_spot_beyond_a_flashing_block_is_not_of_it() -> None:
    for lone in ((11, 1), (1, 15), (11, 15)):
        spots = np.zeros((12, 16), dtype=np.bool_)
        spots[:4, :4] = True
        alone = spots.copy()
        alone[lone] = True
        assert np.array_equal(together(alone, (1 / 3, 1 / 4)), spots)
    nothing = np.zeros((12, 16), dtype=np.bool_)
    assert not together(nothing, (1 / 3, 1 / 4)).any()
    assert not flashes_over_area(nothing, (1 / 3, 1 / 4))


def test_a_frame_of_film_is_a_twenty_fourth_of_a_second() -> None:
    assert [film_frame(fps) for fps in (1, 24, 30, 36, 48, 60, 120)] == [
        1,
        1,
        1,
        2,
        2,
        3,
        5,
    ]


def _blinks(n_frames: int, *bright: int, size: int = 12) -> np.ndarray:
    """Grey frames, white where listed, in a corner of `size` of 12 x 12."""
    frames = np.zeros((n_frames, 12, 12, 3), dtype=np.uint8)
    frames[list(bright), :size, :size] = 255
    return frames


def test_the_worst_second_is_told_by_the_frame_it_begins_with() -> None:
    blinks = measure_flashes(_blinks(60, *range(30, 42, 2)), 24).general
    # Twelve changes, the last one to frame 41, which is the 24th after frame 17.
    assert (blinks.turns, blinks.flashes, blinks.worst_start) == (12, 6, 17)
    early = measure_flashes(_blinks(60, 1, 3, 5), 24).general
    assert (early.turns, early.worst_start) == (6, 0)
    # One change in two seconds of five leaves the worst second behind again.
    two = measure_flashes(_blinks(110, 2, 4, *range(50, 110)), 24).general
    assert (two.turns, two.worst_start) == (4, 0)


@pytest.mark.parametrize(("apart", "is_spaced"), [(7, False), (8, True), (9, True)])
def test_flashes_are_spaced_from_edge_to_edge_of_one_way(
    apart: int, *, is_spaced: bool
) -> None:
    report = measure_flashes(_blinks(48, 3, 4, 3 + apart, 4 + apart), 24)
    assert report.general.closest_frames == apart
    assert report.is_spaced is is_spaced
    assert report.red.closest_frames == 0


def test_frames_between_safe_flashes_are_a_third_of_a_second_rounded_up() -> None:
    spacing = [measure_flashes(_blinks(2), fps).spacing_frames for fps in (24, 25, 30, 60)]
    assert spacing == [8, 9, 10, 20]


def test_calm_is_three_flashes_of_any_spot_however_small() -> None:
    for n, is_calm in ((3, True), (4, False)):
        report = measure_flashes(_blinks(48, *range(1, 2 * n, 2), size=1), 24)
        assert not report.fails
        assert report.general.turns == 0
        assert report.general.flashes_anywhere == n
        assert report.is_calm is is_calm
