"""The jolts are taken out of a ride, and nothing else."""

from __future__ import annotations

import numpy as np
import pytest

from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.paths import PathOptions
from panelbeater.paths.ride import AS_TIMED, calming
from panelbeater.terms.arrays import Points
from panelbeater.terms.timing import Move

N, MOVE = 60, Move("door", 10, 40)
CALM = PathOptions().calm_frames


def _ride(*, swing: float) -> Points:
    """(N, 1, 2): ten across by the quintic, and up and back by `swing` in eight frames."""
    t = np.arange(N)
    across = 10 * minimum_jerk(np.clip((t - 10) / 30, 0, 1))
    up = swing * np.sin(np.pi * np.clip((t - 20) / 8, 0, 1))
    return np.stack([across, up], axis=-1)[:, None]


def _jolts(way: Points) -> float:
    return float((np.diff(way, n=3, axis=0) ** 2).sum())


def _kink(way: Points) -> float:
    """Largest turn from one step to the next, degrees."""
    step = np.diff(way[MOVE.start : MOVE.end + 1, 0], axis=0)
    angle = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    return float(np.degrees(np.abs(np.diff(angle)).max()))


def test_a_jolt_on_the_way_is_spread_over_what_is_round_it() -> None:
    way = _ride(swing=3.0)
    calm = way + calming(way, [MOVE], CALM)
    assert _jolts(calm) < 0.1 * _jolts(way)
    assert _kink(calm) < 0.7 * _kink(way)


def test_a_ride_that_is_smooth_is_hardly_touched() -> None:
    way = _ride(swing=0.0)
    assert np.abs(calming(way, [MOVE], CALM)).max() < 0.01 * 10


def test_a_piece_leaves_and_lands_as_it_did() -> None:
    moves = calming(_ride(swing=3.0), [MOVE], CALM)
    first, last = MOVE.start + 1 + AS_TIMED, MOVE.end - AS_TIMED
    assert moves[first:last].any(axis=(1, 2)).all()
    assert not moves[:first].any()
    assert not moves[last:].any()


def test_no_other_moves_cost_less() -> None:
    way, rng = _ride(swing=3.0), np.random.default_rng(2)
    firm = (2 * np.pi / CALM) ** 6

    def cost(moves: Points) -> float:
        return _jolts(way + moves) + firm * float((moves**2).sum())

    best = calming(way, [MOVE], CALM)
    for size in (1e-3, 1e-2, 0.1):
        other = best.copy()
        free = slice(MOVE.start + 1 + AS_TIMED, MOVE.end - AS_TIMED)
        other[free] += rng.normal(0, size, other[free].shape)
        assert cost(other) > cost(best)


def test_backwards_in_time_and_mirrored_it_is_the_same() -> None:
    way = _ride(swing=3.0) + np.array([0.0, 0.02]) * np.arange(N)[:, None, None]
    back = Move("door", N - 1 - MOVE.end, N - 1 - MOVE.start)
    moves = calming(way, [MOVE], CALM)
    assert calming(way[::-1], [back], CALM)[::-1] == pytest.approx(moves, abs=1e-9)
    flip = np.array([-1.0, 1.0])
    assert calming(way * flip, [MOVE], CALM) * flip == pytest.approx(moves, abs=1e-9)


def test_a_move_too_short_to_calm_is_left_alone() -> None:
    way = _ride(swing=3.0)
    assert not calming(way, [Move("door", 20, 21)], CALM).any()
