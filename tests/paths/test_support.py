"""What floats is drawn back to what carries it; what sinks is lifted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from panelbeater.geometry.frames import moved
from panelbeater.paths import PathOptions
from panelbeater.paths.crowd import PARTS, Crowd
from panelbeater.paths.support import floating_groups, hold_together
from panelbeater.terms.arrays import Affines, Points

OPTIONS = PathOptions()
HEIGHT, GROUND, N_FRAMES = 100.0, 100.0, 20
BODY = box(0, 0, 10, 90)
TILE = box(-5, -5, 5, 5)


def _crowd(*at: tuple[float, float]) -> Crowd:
    """Square tiles standing still at these centres beside one still body."""
    n_moments = PARTS * (N_FRAMES - 1) + 1
    placed: Affines = np.tile(np.stack([moved(x, y) for x, y in at]), (n_moments, 1, 1, 1))
    tiles, bodies = ((TILE,) * len(at),) * N_FRAMES, ((BODY,),) * n_moments
    still = np.zeros(placed.shape[:2])
    shares = np.tile((np.arange(1, PARTS) / PARTS)[:, None], (N_FRAMES - 1, 1, len(at)))
    return Crowd(tiles, placed, bodies, GROUND, HEIGHT, still, shares)


def _tiles(crowd: Crowd, moves: Points, frame: int) -> list[BaseGeometry]:
    at = crowd.placed[PARTS * frame, :, :2, 2] + moves[frame]
    return [translate(TILE, x, y) for x, y in at]


def test_a_tile_on_the_body_and_a_tile_on_that_tile_do_not_float() -> None:
    shapes = [
        box(10, 0, 20, 10),
        box(20, 0, 30, 10),
        box(40, 0, 50, 10),
        box(50, 4, 60, 14),
    ]
    assert floating_groups(shapes, [BODY], HEIGHT, OPTIONS) == [[2, 3]]


def test_a_gap_as_wide_as_the_line_is_thin_does_not_count_as_a_float() -> None:
    shapes = [box(10.3, 0, 20, 10), box(20.03, 0, 30, 10)]
    assert floating_groups(shapes, [BODY], HEIGHT, OPTIONS) == []


def test_a_tile_a_hundredth_of_the_height_off_the_body_floats() -> None:
    assert floating_groups([box(11, 0, 20, 10)], [BODY], HEIGHT, OPTIONS) == [[0]]
    assert floating_groups([box(10, 0, 20, 10), box(20.2, 0, 30, 10)], [BODY], HEIGHT,
                           OPTIONS) == [[1]]  # fmt: skip


def test_a_planted_float_is_pulled_back_to_the_body() -> None:
    crowd = _crowd((15.0, 50.0), (40.0, 50.0))  # the second hangs 15 off the first
    moves = hold_together(crowd, 5, 15, OPTIONS)
    for frame in range(5, 15):
        near, far = _tiles(crowd, moves, frame)
        assert near.distance(BODY) == pytest.approx(0, abs=1e-9)
        assert far.distance(near) == 0
        assert not floating_groups([near, far], [BODY], HEIGHT, OPTIONS)
    assert np.array_equal(moves[:, 0], np.zeros((N_FRAMES, 2)))
    # As short a way as will do: straight towards the neighbour, and a little further.
    assert moves[10, 1] == pytest.approx([-15 - OPTIONS.overlap * HEIGHT, 0], rel=0.02)


def test_two_floating_tiles_that_touch_come_back_together() -> None:
    crowd = _crowd((30.0, 50.0), (40.0, 50.0))
    moves = hold_together(crowd, 5, 15, OPTIONS)
    assert moves[10, 0] == pytest.approx(moves[10, 1])
    assert moves[10, 0, 0] < -14


def test_three_tiles_that_hang_on_each_other_are_led_as_one() -> None:
    # The middle one alone would come back first, and leave the outer two behind.
    crowd = _crowd((32.0, 50.0), (42.0, 50.0), (52.0, 50.0))
    alone = [hold_together(_crowd((x, 50.0)), 5, 15, OPTIONS) for x in (32.0, 42.0, 52.0)]
    moves = hold_together(crowd, 5, 15, OPTIONS)
    assert moves[:, 1] == pytest.approx(moves[:, 0])
    assert moves[:, 2] == pytest.approx(moves[:, 0])
    assert moves[10, 0] == pytest.approx(
        alone[0][10, 0]
    )  # no farther than the nearest must
    assert moves[10, 2, 0] > alone[2][10, 0, 0] + 15
    for frame in range(5, 15):
        assert not floating_groups(_tiles(crowd, moves, frame), [BODY], HEIGHT, OPTIONS)


def test_a_tile_that_hangs_on_one_that_is_led_away_follows_it() -> None:
    # Two lie on the ground's edge; the lower sinks, is lifted, and takes along what it
    # would leave in the air: not in one solve, but round by round until all agree.
    crowd = _crowd((15.0, 97.0), (25.0, 97.0), (35.0, 90.0))
    moves = hold_together(crowd, 5, 15, OPTIONS)
    for frame in range(6, 14):
        tiles = _tiles(crowd, moves, frame)
        assert max(tile.bounds[3] for tile in tiles) <= GROUND + 2 * OPTIONS.sunk * HEIGHT
        assert not floating_groups(tiles, [BODY], HEIGHT, OPTIONS)


def test_the_held_frames_at_both_ends_are_left_alone() -> None:
    moves = hold_together(_crowd((40.0, 50.0)), 5, 15, OPTIONS)
    assert not moves[:5].any()
    assert not moves[15:].any()
    assert moves[5:15].any()


def test_a_tile_under_the_ground_is_lifted_onto_it() -> None:
    crowd = _crowd((12.0, 97.0))
    moves = hold_together(crowd, 0, N_FRAMES, OPTIONS)
    (tile,) = _tiles(crowd, moves, 10)
    assert tile.bounds[3] <= GROUND + 1e-6
    assert tile.bounds[3] > GROUND - 5  # no further than onto the body above it


def test_where_nothing_floats_nothing_is_moved() -> None:
    assert not hold_together(_crowd((14.0, 20.0), (23.0, 20.0)), 0, N_FRAMES, OPTIONS).any()


def test_a_float_between_two_frames_is_mended_in_both() -> None:
    crowd = _crowd((14.0, 50.0))
    placed = crowd.placed.copy()
    placed[10 * PARTS + PARTS // 2, 0, 0, 2] = (
        18.0  # half-way from frame 10 to 11 it is 3 off the body
    )
    crowd = replace(crowd, placed=placed)
    moves = hold_together(crowd, 0, N_FRAMES, OPTIONS)[:, 0, 0]
    assert moves[10] < -2.5
    assert 18 - 5 + (moves[10] + moves[11]) / 2 <= 10 + OPTIONS.touch_body * HEIGHT


def test_a_dip_between_two_frames_is_lifted_by_both_unless_it_is_a_hair() -> None:
    for deep, is_lifted in ((0.05, False), (3.0, True)):
        crowd = _crowd((5.0, 94.0))
        placed = crowd.placed.copy()
        placed[10 * PARTS + PARTS // 2, 0, 1, 2] = 95.0 + deep
        crowd = replace(crowd, placed=placed)
        moves = hold_together(crowd, 0, N_FRAMES, OPTIONS)[:, 0, 1]
        assert moves.any() == is_lifted
        between = deep + (moves[10] + moves[11]) / 2
        assert between <= OPTIONS.sunk_between * HEIGHT


def test_a_move_between_two_frames_turns_with_the_bone_under_it() -> None:
    crowd = _crowd((5.0, 50.0))
    turns, moves = np.zeros((PARTS * (N_FRAMES - 1) + 1, 1)), np.zeros((N_FRAMES, 1, 2))
    turns[: PARTS + 1, 0], turns[PARTS:] = np.linspace(0, np.pi / 2, PARTS + 1), np.pi / 2
    moves[:2, 0, 0] = 1.0
    between = replace(crowd, turns=turns).in_between(moves)
    # Both frames move it by 1, but on a bone that turns by a right angle in between: the
    # straight way on the bone cuts the corner.
    assert between[[0, PARTS // 2, PARTS], 0] == pytest.approx(
        np.array([[1.0, 0.0], [np.sqrt(0.5), 0.0], [1.0, 0.0]]), abs=1e-12
    )


def test_a_float_in_one_frame_fades_in_and_out() -> None:
    crowd = _crowd((12.0, 50.0))
    placed = crowd.placed.copy()
    placed[10 * PARTS, 0, 0, 2] = 30.0
    moves = hold_together(replace(crowd, placed=placed), 0, N_FRAMES, OPTIONS)
    pull = -moves[:, 0, 0]
    assert pull.argmax() == 10
    assert np.all(np.diff(pull[:11]) >= 0)
    assert np.all(np.diff(pull[10:]) <= 0)
    assert 0 < pull[9] < pull[10]
