"""Pieces change places only while nobody can see it, and no more often than they must."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

import networkx  # type: ignore[import-untyped]
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, box
from shapely.affinity import scale, translate

from panelbeater.effort import QUIET
from panelbeater.geometry.stacked import closed, stacked
from panelbeater.paths.depth import (
    Stack,
    _edges,
    _ring,
    _rings,
    _runs,
    _settle,
    meetings,
    stack_meetings,
)
from panelbeater.terms.arrays import Flags
from panelbeater.terms.rig import Refused, Stacking
from panelbeater.terms.timing import ShotOptions
from tests.vehicles import drawing, piece

pytestmark = pytest.mark.solve


def always(*depths: int) -> Callable[[Flags], Sequence[int]]:
    return lambda _: depths


def met(n_frames: int, n: int, *spans: tuple[int, int, int, int]) -> Flags:
    """Pairs (further, nearer) that overlap from one frame until before another."""
    out = np.zeros((n_frames, n, n), dtype=np.bool_)
    for lower, upper, start, stop in spans:
        out[start:stop, lower, upper] = True
    return out


def changes(stack: Stack) -> list[int]:
    return (np.flatnonzero(np.diff(stack.depth, axis=0).any(axis=1)) + 1).tolist()


def test_two_discs_that_must_swap_do_so_while_they_are_apart() -> None:
    disc = Point(0, 0).buffer(1)
    ways = [*range(0, 6), *range(4, -1, -1)]  # out to 5 apart, and back
    meets = meetings([[disc, translate(disc, way)] for way in ways])
    stack = stack_meetings(meets, [0, 1], always(1, 0))
    (frame,) = changes(stack)
    assert not meets[frame - 1 : frame + 1].any()
    assert stack.depth[0].tolist() == [0, 1]
    assert stack.depth[-1].tolist() == [1, 0]
    assert (stack.n_flips, stack.proof.endswith("no fewer would do")) == (1, True)


def test_discs_that_never_part_keep_their_order() -> None:
    stack = stack_meetings(met(9, 2, (0, 1, 0, 9)), [0, 1], always(1, 0))
    assert not changes(stack)
    assert stack.depth[0].tolist() == [0, 1]


def test_a_pair_that_parts_in_one_drawing_only_may_not_swap_in_plain_sight() -> None:
    # Apart in frame 4 alone: between 3 and 4, and 4 and 5, in-betweens still overlap.
    once = met(9, 2, (0, 1, 0, 4), (0, 1, 5, 9))
    assert not changes(stack_meetings(once, [0, 1], always(1, 0)))
    long = met(9, 2, (0, 1, 0, 3), (0, 1, 6, 9))
    (frame,) = changes(stack_meetings(long, [0, 1], always(1, 0)))
    assert frame in (4, 5)


def test_a_pinwheel_is_refused() -> None:
    # 1 lies over 0 and 2 over 1 throughout: whatever 0 and 2 do, 0 cannot come to lie on 2.
    meets = met(12, 3, (0, 1, 0, 12), (1, 2, 0, 12), (0, 2, 0, 3), (0, 2, 8, 12))
    stack = stack_meetings(meets, [0, 1, 2], always(2, 1, 0))
    assert not changes(stack)
    assert stack.depth[-1].tolist() == [0, 1, 2]
    # What was wished for and had to go, and since when the two overlap (a frame ahead).
    assert set(stack.refused) == {(0, 1, 0), (1, 2, 0), (0, 2, 7)}


def test_a_pinwheel_is_cut_in_time_where_a_second_pair_parts() -> None:
    meets = met(
        12, 3, (0, 1, 0, 3), (0, 1, 8, 12), (1, 2, 0, 12), (0, 2, 0, 3), (0, 2, 8, 12)
    )
    stack = stack_meetings(meets, [0, 1, 2], always(2, 0, 1))
    assert stack.depth[-1].tolist() == [2, 0, 1]
    assert stack.n_flips == 2
    assert not stack.refused
    (frame,) = changes(stack)
    assert 4 <= frame <= 7


def test_a_refused_wish_is_told_with_its_frame_and_what_would_help() -> None:
    meets = met(12, 3, (0, 1, 0, 12), (1, 2, 0, 12), (0, 2, 0, 3), (0, 2, 8, 12))
    names = ("hood", "door", "lamp")
    tiles = drawing(*(piece(name, box(0, 0, 1, 1), i) for i, name in enumerate(names)))
    told = stack_meetings(meets, [0, 1, 2], always(2, 1, 0)).told(tiles)
    there, back = ShotOptions(n_frames=12), ShotOptions(n_frames=12, reverse=True)
    first, *_, last = sorted(one.words(there) for one in told.refused)
    assert first.startswith("door should lie over lamp on the robot, but they overlap")
    assert "in every frame and would change places in plain sight; pin one" in first
    assert "hood should lie over lamp on the robot, but they overlap from frame 8" in last
    assert "overlap up to frame 5" in max(one.words(back) for one in told.refused)
    assert {one["frame"] for one in told.to_json(there)["refused"]} == {0, 7}
    many = Stacking("made up", (Refused("a", "b", 0),) * 5)
    (line,) = many.lines(there)
    assert line.startswith("stack: a should lie over b")
    assert line.endswith("(4 more in scores.json)")
    assert Stacking("made up").lines(there) == []


def test_who_asks_again_is_told_what_must_stay() -> None:
    told = []

    def wish(must: Flags) -> list[int]:
        told.append(must.copy())
        return [2, 1, 0] if len(told) <= 2 else [0, 1, 2]

    meets = met(12, 3, (0, 1, 0, 12), (1, 2, 0, 12), (0, 2, 0, 3), (0, 2, 8, 12))
    stack_meetings(meets, [0, 1, 2], wish)
    assert not told[0].any()  # what would be best if nothing had to stay
    assert told[1][2, 0]  # through the piece between them
    assert (told[1] == closed(told[1])).all()


@st.composite
def crowds(draw: st.DrawFn) -> tuple[Flags, list[int]]:
    n, n_frames = draw(st.integers(2, 5)), draw(st.integers(3, 12))
    cells = n_frames * n * (n - 1) // 2
    bits = draw(st.lists(st.booleans(), min_size=cells, max_size=cells))
    out = np.zeros((n_frames, n, n), dtype=np.bool_)
    out[:, *np.triu_indices(n, 1)] = np.array(bits).reshape(n_frames, -1)
    return out, draw(st.permutations(range(n)))


@given(crowds())
def test_no_pair_flips_over_an_overlap_and_the_drawing_stands(
    crowd: tuple[Flags, list[int]],
) -> None:
    meets, wanted = crowd
    n = meets.shape[1]
    depth = stack_meetings(meets, range(n), always(*wanted)).depth
    assert (np.sort(depth, axis=1) == np.arange(n)).all()
    above = depth[:, None, :] > depth[:, :, None]  # column over row
    assert above[0][meets[0]].all()
    flips = above[1:] != above[:-1]
    assert not (flips & meets[1:] & meets[:-1]).any()


@given(crowds())
def test_no_fewer_changes_would_do(crowd: tuple[Flags, list[int]]) -> None:
    meets, wanted = crowd
    n_frames, n, _ = meets.shape
    runs = _runs(meets, range(n))[:9]
    active = [
        [i for i, r in enumerate(runs) if r.start <= f < r.stop] for f in range(n_frames)
    ]

    def cost(kept: Sequence[bool]) -> tuple[int, int] | None:
        last = [k for k, run in zip(kept, runs, strict=True) if run.stop == n_frames]
        wish = [
            wanted[run.upper] > wanted[run.lower] for run in runs if run.stop == n_frames
        ]
        first = [k for k, run in zip(kept, runs, strict=True) if run.is_drawn]
        if not all(first) or any(w and not k for w, k in zip(wish, last, strict=True)):
            return None
        if _rings(active, _edges(runs, kept)):
            return None
        pairs = [(run.lower, run.upper) for run in runs]
        flips = sum(
            pairs[i] == pairs[i + 1] and kept[i] != kept[i + 1]
            for i in range(len(runs) - 1)
        )
        return sum(k and not w for k, w in zip(last, wish, strict=True)), flips

    found, n_flips, is_least = _settle(runs, n_frames, wanted, 1, QUIET)
    costs = map(cost, itertools.product([False, True], repeat=len(runs)))
    best = min(c for c in costs if c is not None)
    assert is_least
    assert cost(found) == best
    assert n_flips == best[1]


CYCLE = [(i, (i + 1) % 6) for i in range(6)]
PATH = [(i, i + 1) for i in range(4)]
ALL_FOUR = list(itertools.combinations(range(4), 2))


@pytest.mark.parametrize(("pairs", "count"), [(PATH, 16), (CYCLE, 62), (ALL_FOUR, 24)])
def test_the_layerings_are_the_acyclic_orientations(
    pairs: list[tuple[int, int]], count: int
) -> None:
    # Stanley 1973: as many as the chromatic polynomial at -1, without its sign.
    n, good = 1 + max(itertools.chain(*pairs)), 0
    for turned in itertools.product([False, True], repeat=len(pairs)):
        edges = [p[::-1] if t else p for p, t in zip(pairs, turned, strict=True)]
        assert networkx.is_directed_acyclic_graph(networkx.DiGraph(edges)) != bool(
            _ring(edges)
        )
        if not _ring(edges):
            good += 1
            depth = stacked(edges, range(n))
            assert all(depth[above] > depth[under] for under, above in edges)
    assert good == count


def test_a_stack_that_keeps_all_edges_is_left_alone() -> None:
    assert stacked([(2, 0), (0, 1)], [5, 9, 1]) == [1, 2, 0]
    assert stacked([], [5, 9, 1]) == [1, 2, 0]
    assert stacked([(1, 0)], [0, 1, 2]) == [1, 0, 2]


def test_mirrored_pieces_meet_alike() -> None:
    rows = [
        [box(0, 0, 4, 4), box(3, way, 6, way + 4), Point(way, 1).buffer(1)]
        for way in range(5)
    ]
    mirrored = [[scale(s, -1, 1, origin=(0, 0)) for s in row] for row in rows]
    assert (meetings(rows) == meetings(mirrored)).all()
    assert meetings(rows)[0, 0, 1]
    assert not meetings(rows)[4, 0, 1]  # edge on edge is no overlap


def test_pieces_that_stay_meet_as_if_they_were_asked_again() -> None:
    still, passer = box(0, 0, 4, 4), box(3, 3, 5, 5)
    rows = [[still, passer, translate(still, way, 0)] for way in (1, 1, 2, 9, 9, 1)]
    anew = [[translate(shape, 0, 0) for shape in row] for row in rows]
    rows[1] = rows[0]
    assert (meetings(rows) == meetings(anew)).all()
    assert meetings(rows)[:, 0, 2].tolist() == [True, True, True, False, False, True]
    assert meetings(rows)[:, 0, 1].all()
