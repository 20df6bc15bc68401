"""The flash meter exactly at its limits, and its counting against a plain account of it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from panelbeater.errors import DrawingError
from panelbeater.scores import measure_flashes
from panelbeater.scores.arrays import Flags
from panelbeater.scores.flash import FlashCount, FlashReport
from panelbeater.scores.flash.colour import is_saturated_red, linear, luminance
from panelbeater.scores.flash.concurrent import concurrent
from panelbeater.scores.flash.field import field_share, flashes_over_area, together
from panelbeater.scores.flash.meter import _closest
from panelbeater.scores.flash.transitions import GeneralTurns, Turned

WHOLE = (1.0, 1.0)


def report(general: int, anywhere: int, red: int = 0, closest: int = 0) -> FlashReport:
    none = FlashCount(red, red, 0, 0)
    return FlashReport(FlashCount(general, anywhere, 0, closest), none, spacing_frames=8)


@pytest.mark.parametrize(
    ("turns", "flashes", "fails"), [(6, 3, False), (7, 3, True), (8, 4, True)]
)
def test_more_than_three_pairs_of_changes_fail(
    turns: int, flashes: int, *, fails: bool
) -> None:
    assert report(turns, turns).fails is fails
    assert report(0, 0, red=turns).fails is fails
    assert report(turns, turns + 2).general.flashes == flashes
    assert report(turns, turns + 2).general.flashes_anywhere == flashes + 1


@pytest.mark.parametrize(("anywhere", "is_calm"), [(7, True), (8, False)])
def test_three_flashes_of_a_spot_are_calm(anywhere: int, *, is_calm: bool) -> None:
    assert report(0, anywhere).is_calm is is_calm
    assert report(0, 0, red=anywhere).is_calm is is_calm


@pytest.mark.parametrize(
    ("closest", "is_spaced"), [(0, True), (7, False), (8, True), (9, True)]
)
def test_edges_keep_their_spacing_or_there_are_none(
    closest: int, *, is_spaced: bool
) -> None:
    assert report(0, 0, closest=closest).is_spaced is is_spaced


def test_a_saturated_red_has_four_fifths_of_the_light() -> None:
    # 5 of 6 1/4 is 0.8, in numbers that a computer holds exactly; black has no colour.
    light = np.array([[(5, 1.25, 0), (5, 1.3, 0), (5, 0.6, 0.6), (0, 0, 0), (1, 0, 0)]])
    assert is_saturated_red(light).tolist() == [[True, False, True, False, True]]


def test_bytes_are_linear_below_the_knee_and_a_power_above_it() -> None:
    # IEC 61966-2-1: 10 / 255 = 0.0392 is below 0.04045, 11 / 255 = 0.0431 above it.
    grey = np.array([[[level] * 3 for level in (0, 10, 11, 255)]], dtype=np.uint8)
    assert linear(grey)[0, :, 0] == pytest.approx(
        [0, 0.0030353, ((11 / 255 + 0.055) / 1.055) ** 2.4, 1], rel=1e-4
    )
    assert luminance(linear(grey))[0] == pytest.approx(linear(grey)[0, :, 0])


def _ways(*levels: float) -> list[int]:
    pictures = [np.array([[[level] * 3]]) for level in levels]
    meter = GeneralTurns(pictures[0])
    return [int(meter.turn(picture).way[0, 0]) for picture in pictures[1:]]


def test_the_darker_side_must_be_below_four_fifths() -> None:
    assert _ways(0.8 + 1e-9, 0.95) == [0]
    assert _ways(0.8 - 1e-9, 0.95) == [1]
    assert _ways(0.95, 0.8 + 1e-9) == [0]
    assert _ways(0.95, 0.8 - 1e-9) == [-1]
    # Down from above and up again: what was no change to begin with is none afterwards.
    assert _ways(0.95, 0.82, 0.95, 0.7, 0.8) == [0, 0, -1, 1]


def _turned(ways: np.ndarray, lengths: np.ndarray) -> list[Turned]:
    return [
        Turned(way.astype(np.int8), length)
        for way, length in zip(ways, lengths, strict=True)
    ]


def _plainly_concurrent(
    ways: np.ndarray, lengths: np.ndarray, way: int, *, least: int, most: int
) -> np.ndarray:
    """Spot by spot: completed transitions that are under way at a moment at which they
    share a 4 x 4 field with enough others. A transition of n pictures is under way in the
    picture that completes it and the n - 1 before.
    """
    n_pictures, height, width = ways.shape
    under_way = np.zeros(ways.shape, dtype=np.bool_)
    spans = {}
    for k, y, x in zip(*np.nonzero(ways == way), strict=True):
        n = min(max(int(lengths[k, y, x]), least), most)
        spans[k, y, x] = range(max(0, k - n + 1), k + 1)
        for moment in spans[k, y, x]:
            under_way[moment, y, x] = True
    hot = np.zeros(ways.shape, dtype=np.bool_)
    for k in range(n_pictures):
        for top in range(height - 3):
            for left in range(width - 3):
                here = np.s_[k, top : top + 4, left : left + 4]
                if under_way[here].sum() > 4:
                    hot[here] |= under_way[here]
    out = np.zeros(ways.shape, dtype=np.bool_)
    for (k, y, x), span in spans.items():
        out[k, y, x] = any(hot[moment, y, x] for moment in span)
    return out


@pytest.mark.parametrize(
    ("fps", "least", "most"),
    # One frame of film is one picture at 24 a second, three at 72; a second is all.
    [(24.0, 1, 24), (72.0, 3, 72), (4.0, 1, 4)],
)
def test_transitions_count_together_by_a_plain_account(
    fps: float, least: int, most: int
) -> None:
    rng = np.random.default_rng(1)
    n_some = 0
    for density in np.linspace(0.02, 0.3, 12):
        shares = [density, 1 - 2 * density, density]
        ways = rng.choice([-1, 0, 1], p=shares, size=(7, 8, 12))
        lengths = rng.integers(1, 7, size=ways.shape)
        found = concurrent(_turned(ways, lengths), fps, (1 / 2, 1 / 3))
        for flags, way in zip(found, (1, -1), strict=True):
            wanted = _plainly_concurrent(ways, lengths, way, least=least, most=most)
            assert np.array_equal(np.array(flags), wanted)
            n_some += 0 < wanted.sum() < (ways == way).sum()
    assert n_some > 6


@pytest.mark.parametrize(
    ("fps", "second", "is_counted"),
    # Of two spots in four each is a quarter alone, both are more. The first is done at
    # picture 20 after twenty; a second before it begins at 13 at 8 a second, at 5 at 16.
    [(8.0, 27, True), (8.0, 28, False), (16.0, 35, True), (16.0, 36, False)],
)
def test_a_change_is_under_way_for_a_second_at_most(
    fps: float, second: int, *, is_counted: bool
) -> None:
    ways = np.zeros((40, 2, 2), dtype=np.int8)
    ways[20, 0, 0] = ways[second, 0, 1] = 1
    lengths = np.full(ways.shape, 20)
    up, down = concurrent(_turned(ways, lengths), fps, WHOLE)
    wanted = [20, second] if is_counted else []
    assert [k for k, flags in enumerate(up) if flags.any()] == wanted
    assert not any(flags.any() for flags in down)


def test_a_field_is_never_smaller_than_a_pixel_nor_larger_than_the_picture() -> None:
    spots = np.zeros((2, 2), dtype=np.bool_)
    spots[1, 1] = True
    assert field_share(spots, (0.1, 0.1)) == 1
    assert field_share(spots, (0.1, 1.0)) == 0.5
    assert field_share(spots, (1.0, 0.1)) == 0.5
    assert field_share(spots, (3.0, 3.0)) == 0.25
    assert not flashes_over_area(spots, WHOLE)  # a quarter is not more than a quarter
    assert not together(spots, WHOLE).any()
    assert np.array_equal(together(spots, (1.0, 0.5)), spots)


def test_one_picture_does_not_flash() -> None:
    found = measure_flashes(np.zeros((1, 4, 4, 3), dtype=np.uint8), 24)
    nothing = FlashCount(turns=0, turns_anywhere=0, worst_start=0, closest_frames=0)
    assert (found.general, found.red) == (nothing, nothing)
    assert found.is_calm
    assert found.is_spaced


@pytest.mark.parametrize(
    ("shape", "kind", "fps"),
    [
        ((3, 4, 5), np.uint8, 24.0), ((3, 4, 5, 4), np.uint8, 24.0),
        ((3, 4, 5, 3), np.float64, 24.0), ((0, 4, 5, 3), np.uint8, 24.0),
        ((3, 0, 5, 3), np.uint8, 24.0), ((3, 4, 5, 3), np.uint8, 0.0),
        ((3, 4, 5, 3), np.uint8, -1.0), ((3, 4, 5, 3), np.uint8, np.inf),
        ((3, 4, 5, 3), np.uint8, np.nan),
    ],
)  # fmt: skip
def test_the_meter_refuses_each_thing_that_is_no_film(
    shape: tuple[int, ...], kind: type, fps: float
) -> None:
    with pytest.raises(DrawingError, match="flash meter"):
        measure_flashes(np.zeros(shape, dtype=kind), fps)


def test_a_slow_film_is_measured_too() -> None:
    # Two pictures a second, black and white in turn: a second holds two changes.
    frames = np.zeros((8, 4, 4, 3), dtype=np.uint8)
    frames[::2] = 255
    assert measure_flashes(frames, 2.0).general.turns == 2
    assert measure_flashes(frames, 1.5).general.turns == 2  # a span of two pictures
    assert measure_flashes(frames, 0.5).general.turns == 1


def _edges(n: int, *at: int, share: int = 4) -> list[Flags]:
    """Edges of a 2 x 2 picture at some pictures, in so many of its four spots."""
    out = [np.zeros((2, 2), dtype=np.bool_) for _ in range(n)]
    for k in at:
        out[k].flat[:share] = True
    return out


@pytest.mark.parametrize(
    ("at", "closest"),
    [((), 0), ((0,), 0), ((0, 5), 5), ((0, 9, 12), 3), ((0, 3, 12), 3), ((1, 2, 3), 1),
     ((4, 9, 13, 19), 4), ((0, 19), 19)],
)  # fmt: skip
def test_the_closest_edges_are_found_wherever_they_are(
    at: Sequence[int], closest: int
) -> None:
    assert _closest(_edges(20, *at), 24, WHOLE) == closest
    # A quarter of the field is not enough, half of it is.
    assert _closest(_edges(20, *at, share=1), 24, WHOLE) == 0
    assert _closest(_edges(20, *at, share=2), 24, WHOLE) == closest


def test_edges_within_a_frame_of_film_are_edges_at_once() -> None:
    # Each spot on its own is a quarter of the field; two of them together are more. At 24
    # a second the second spot's edge comes a picture too late, at 48 it is the same frame.
    edges = _edges(20)
    for k, spot in ((2, 0), (3, 1), (9, 0), (10, 1)):
        edges[k].flat[spot] = True
    assert _closest(edges, 24, WHOLE) == 0
    assert _closest(edges, 48, WHOLE) == 7
    late = _edges(20)
    for k, spot in ((2, 0), (4, 1), (9, 0), (11, 1)):
        late[k].flat[spot] = True
    assert _closest(late, 48, WHOLE) == 0
