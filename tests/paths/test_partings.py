"""Start frames with which two pieces part on the way."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import box

from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.paths import Rides, find_partings
from panelbeater.terms.timing import Move, Schedule, ShotOptions
from tests.vehicles import drawing, piece

SHOT = ShotOptions(n_frames=48)
SIDE, WAY, LENGTH = 20.0, 100.0, 10
PAIR = drawing(
    piece("door", box(0, 0, SIDE, SIDE), 0), piece("window", box(0, 0, SIDE, SIDE), 1)
)


def _rides(*ways: float) -> Rides:
    """Both wait on a bone that lies still, and land this far to its right."""
    start, still = np.full((2, 2), SIDE / 2), np.zeros(2, dtype=np.int64)
    last = np.tile([0.0, SIDE / 2, 0.0, 1.0, 0.0, 1.0], (2, 1))
    last[:, 0] = start[:, 0] + ways
    frames = np.tile(np.eye(3), (SHOT.n_frames, 1, 1, 1))
    return Rides(still, still, start, last, frames, 500.0, np.zeros((SHOT.n_frames, 1)))


def _moves(start: int) -> Schedule:
    return Schedule(tuple(Move(n, start, start + LENGTH) for n in ("door", "window")), "")


def test_equal_squares_on_one_way_part_when_one_leaves_early_enough() -> None:
    (parting,) = find_partings(PAIR, _rides(WAY, WAY), _moves(15), [(1, 0, 0)], SHOT)
    frames = np.arange(SHOT.n_frames)
    expected = set()
    for one in range(9, 22):
        for other in range(9, 22):
            gap = WAY * (minimum_jerk((frames - one) / LENGTH)
                         - minimum_jerk((frames - other) / LENGTH))  # fmt: skip
            clear = np.abs(gap) >= SIDE
            if (clear[2:] & clear[1:-1] & clear[:-2]).any():
                expected.add((one, other))
    assert parting.pieces == (1, 0)
    assert set(parting.starts) == expected
    assert 20 < len(expected) < 13 * 13 - 20


@pytest.mark.parametrize("ways", [(0.0, 0.0), (9.0, 9.0), (9.0, 0.0)])
def test_pairs_that_never_part_are_left_out(ways: tuple[float, float]) -> None:
    assert find_partings(PAIR, _rides(*ways), _moves(15), [(1, 0, 0)], SHOT) == ()


def test_pairs_bound_by_others_are_left_out() -> None:
    assert find_partings(PAIR, _rides(WAY, WAY), _moves(15), [(1, 0, 12)], SHOT) == ()


def test_moves_stay_within_the_moving_part() -> None:
    first = SHOT.moving.start
    (parting,) = find_partings(PAIR, _rides(WAY, WAY), _moves(first), [(1, 0, 0)], SHOT)
    assert min(min(pair) for pair in parting.starts) == first
