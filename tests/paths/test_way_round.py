"""Pieces that may not pass over each other are led round, by a way that exists."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import cholesky
from scipy.optimize import approx_fprime
from shapely import Polygon, box

from panelbeater.paths.clear import Clearance
from panelbeater.paths.crowd import PARTS, Crowd
from panelbeater.paths.detours import cost_of_moves
from panelbeater.paths.lead import lead_pieces
from panelbeater.paths.penalties import moments_of, penalties
from panelbeater.paths.way_round import lead_round, price_of
from panelbeater.terms.arrays import Floats, Points
from tests.paths.led import (
    FIRST,
    HEIGHT,
    LANDS,
    LAST,
    LEAVES,
    N_FRAMES,
    OPTIONS,
    crowd_of,
    disc,
    overlaps,
    path_of,
    wishes,
)

LEFT, RIGHT = (20.0, 50.0), (60.0, 50.0)


def _led(crowd: Crowd, clear: tuple[Clearance, ...]) -> Points:
    return lead_pieces(crowd, clear, FIRST, LAST, OPTIONS)


def _swap() -> Crowd:
    return crowd_of((disc(8), LEFT, RIGHT), (disc(8), RIGHT, LEFT))


@pytest.mark.slow
def test_two_discs_that_swap_come_past_each_other() -> None:
    crowd = _swap()
    assert overlaps(crowd, np.zeros((N_FRAMES, 2, 2)), 0, 1).any()
    moves = _led(crowd, wishes(crowd, a=["b"], b=["a"]))
    assert not overlaps(crowd, moves, 0, 1).any()
    assert not moves[:FIRST].any()
    assert not moves[LAST:].any()
    # Both give way alike, to either side.
    assert moves[:, 0] == pytest.approx(-moves[:, 1], abs=0.01 * HEIGHT)
    assert np.abs(moves[:, 0, 1]).max() == pytest.approx(8, rel=0.1)


@pytest.mark.slow
def test_only_the_one_that_was_asked_gives_way() -> None:
    crowd = _swap()
    moves = _led(crowd, wishes(crowd, a=["b"]))
    assert not overlaps(crowd, moves, 0, 1).any()
    assert not moves[:, 1].any()


@pytest.mark.slow
def test_a_piece_goes_through_a_corridor_and_round_its_corner() -> None:
    outer = Polygon([(-9, 99), (-9, -9), (99, -9), (99, 0), (0, 0), (0, 99)])
    inner = box(20, 20, 199, 199)
    still = (0.0, 0.0)
    crowd = crowd_of(
        (disc(6), (10.0, 80.0), (80.0, 10.0)), (outer, still, still), (inner, still, still)
    )
    moves = _led(crowd, wishes(crowd, a=["b", "c"]))
    assert overlaps(crowd, np.zeros_like(moves), 0, 2).any()
    assert not overlaps(crowd, moves, 0, 1).any()
    assert not overlaps(crowd, moves, 0, 2).any()
    x, y = path_of(crowd, moves, 0).T
    assert ((x < 20) | (y < 20)).all()


@pytest.mark.slow
def test_the_way_round_a_unit_box_is_hardly_longer_than_the_shortest() -> None:
    # A dot on the ground goes over a box; the shortest way by a visibility graph
    # (pyvisgraph), whose box goes so deep that no way leads under it.
    graphs = pytest.importorskip("pyvisgraph")
    corners = ((-0.5, 1.0), (0.5, 1.0), (0.5, -9.0), (-0.5, -9.0))
    graph = graphs.VisGraph()
    graph.build([[graphs.Point(*corner) for corner in corners]], workers=1, status=False)
    stops = graph.shortest_path(graphs.Point(-1.5, 0.0), graphs.Point(1.5, 0.0))
    legs = np.diff([(stop.x, stop.y) for stop in stops], axis=0)
    shortest = float(np.hypot(*legs.T).sum())
    assert shortest == pytest.approx(1 + 2 * 2**0.5)

    unit, dot = 30.0, 0.3
    still = (0.0, 0.0)
    crowd = crowd_of(
        (disc(dot), (-1.5 * unit, 0.0), (1.5 * unit, 0.0)),
        (box(-unit / 2, -unit, unit / 2, dot), still, still),
        ground=dot,
    )
    options = replace(OPTIONS, round_frames=(24,))
    moves = lead_pieces(crowd, wishes(crowd, a=["b"]), FIRST, LAST, options)
    assert not overlaps(crowd, moves, 0, 1).any()
    way = path_of(crowd, moves, 0) / unit
    length = float(np.hypot(*np.diff(way, axis=0).T).sum())
    assert shortest <= length < 1.04 * shortest


@pytest.mark.slow
def test_mirrored_pieces_take_the_mirrored_way() -> None:
    mirror = np.array([-1.0, 1.0])
    rides = [((20.0, 50.0), (60.0, 54.0)), ((61.0, 50.0), (22.0, 49.0))]
    crowd = crowd_of(*((disc(8), start, end) for start, end in rides))
    flipped = crowd_of(
        *((disc(8), (-start[0], start[1]), (-end[0], end[1])) for start, end in rides)
    )
    moves = _led(crowd, wishes(crowd, a=["b"], b=["a"]))
    assert np.abs(moves).max() > 5
    other = _led(flipped, wishes(flipped, a=["b"], b=["a"]))
    assert other == pytest.approx(moves * mirror, abs=0.005 * HEIGHT)


@pytest.mark.slow
def test_backwards_in_time_the_way_costs_the_same() -> None:
    start, end = (20.0, 50.0), (60.0, 54.0)
    box_there = (box(-7, -9, 7, 9), (43.0, 50.0), (43.0, 50.0))
    cost = cost_of_moves(N_FRAMES, np.inf)
    found = []
    for ride in ((start, end), (end, start)):
        crowd = crowd_of((disc(6), *ride), box_there)
        moves = lead_round(crowd, wishes(crowd, a=["b"]), FIRST, LAST, OPTIONS, 12)[:, 0]
        found.append(float((moves * (cost @ moves)).sum()))
    assert found[0] > 1
    assert found[1] == pytest.approx(found[0], rel=0.02)


@pytest.mark.slow
def test_what_would_be_left_in_the_air_is_not_led_round() -> None:
    # The body is a rail with room for one.
    crowd = crowd_of(
        (disc(8), LEFT, RIGHT), (disc(8), RIGHT, LEFT), body=box(0, 48, 80, 52)
    )
    wide = crowd_of((disc(8), LEFT, RIGHT), (disc(8), RIGHT, LEFT), body=box(0, 30, 80, 70))
    assert not _led(crowd, wishes(crowd, a=["b"])).any()
    assert _led(wide, wishes(wide, a=["b"])).any()


def test_two_that_overlap_in_the_vehicle_may_until_they_part() -> None:
    crowd = crowd_of((disc(8), LEFT, RIGHT), (disc(8), (26.0, 50.0), (26.0, 50.0)))
    (pair,) = wishes(crowd, a=["b"])
    parted = PARTS * (LEAVES + (LANDS - LEAVES) * 22 / 40)
    assert np.flatnonzero(pair.barred)[0] == pytest.approx(parted, abs=PARTS // 2)
    assert not pair.crosses.any()
    assert not _led(crowd, (pair,)).any()


def test_the_slope_of_what_ways_cost_is_exact() -> None:
    crowd = crowd_of(
        (box(-8, -3, 8, 3), LEFT, RIGHT), (disc(7), RIGHT, LEFT),
        body=box(0, 42, 80, 55), ground=56.0,
    )  # fmt: skip
    at = moments_of(15, 25)
    wrong = penalties(crowd, wishes(crowd, a=["b"], b=["a"]), [0, 1], at, OPTIONS)
    root = cholesky(cost_of_moves(10, np.inf), lower=True)
    where = np.random.default_rng(3).normal(0, 0.05, 40)
    price, slope = price_of(where, wrong, root, HEIGHT, 10.0)
    assert price > where @ where + 0.1  # something is wrong there

    def price_at(x: Floats) -> float:
        return price_of(x, wrong, root, HEIGHT, 10.0)[0]

    near = approx_fprime(where, price_at, 1e-8)
    assert np.abs(near - slope).max() < 1e-6 * np.abs(slope).max()
