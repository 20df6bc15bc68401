"""The parts of the certificate between frames, each by numbers worked out by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, box

from panelbeater.scores.between.moment import Moment, Sole, View
from panelbeater.scores.between.span import Span
from panelbeater.terms.drawing import Shape
from tests.scores.moving import ALLOWED

LIMITS = replace(
    ALLOWED, body_contact=0.5, piece_contact=0.25, floor=2.0, clash_area=0.5, slide=0.25
)
UNIT = box(0, 0, 1, 1)


def view(*depth: int, hidden: Sequence[int] = (), n_bones: int = 1) -> View:
    visible = ~np.isin(np.arange(len(depth)), hidden)
    return View(visible, np.array(depth, dtype=np.int64), n_bones, LIMITS)


def moment(
    seen: View, *shapes: Shape, time: float = 0.0, held: Sequence[int] = ()
) -> Moment:
    drawn = np.empty(len(shapes), dtype=object)
    drawn[:] = shapes
    known = np.isin(np.arange(seen.n_pieces), held)
    return Moment(time, 0, drawn, seen, known)


def span(before: Moment, after: Moment) -> Span:
    return Span(before, after, (), before.held)


def at(x: float, y: float = 0.0) -> Polygon:
    return box(x, y, x + 1, y + 1)


def test_a_view_counts_visible_pieces_and_all_bones() -> None:
    seen = view(1, 1, 2, 1, 1, hidden=[3], n_bones=2)
    assert seen.n_pieces == 5
    assert seen.shown.tolist() == [0, 1, 2, 4, 5, 6]
    assert [pair.tolist() for pair in seen.level_pairs] == [[0, 0, 1], [1, 4, 4]]
    # Pieces reach to pieces and to bones by their own limits.
    assert seen.reach(np.array([0, 4, 5, 6])).tolist() == [0.25, 0.25, 0.5, 0.5]


def test_what_no_chain_of_contacts_ties_to_the_body_is_loose() -> None:
    seen = view(0, 1, 2, 3, hidden=[3])
    one, other = np.array([0, 1]), np.array([1, 4])
    nothing = np.zeros(4, dtype=np.bool_)
    assert seen.loose(nothing, one, other).tolist() == [2]
    assert seen.loose(nothing, one[:1], other[:1]).tolist() == [0, 1, 2]
    # What is known to be held holds the others.
    known = np.array([False, True, False, False])
    assert seen.loose(known, one[:1], other[:1]).tolist() == [2]


@pytest.mark.parametrize("time", [0.0, 0.5])
@pytest.mark.parametrize(
    ("gap", "reach_by", "holds"),
    [(0.5, "bone", True), (0.51, "bone", False), (0.25, "piece", True),
     (0.26, "piece", False), (0.0, "piece", True)],
)  # fmt: skip
def test_a_piece_holds_on_at_no_more_than_its_reach(
    gap: float, reach_by: str, time: float, *, holds: bool
) -> None:
    if reach_by == "bone":
        now = moment(view(0), at(1 + gap), UNIT, time=time)
    else:  # the second piece lies on the bone, the first one hangs on the second
        now = moment(view(0, 1), at(2 + gap), at(1), at(0.5), time=time)
    faults = now.floats()
    assert faults == (() if holds else (((0,), "floats free of the body"),))
    pairs = {(a, b): g for a, b, g in zip(*map(list, now.contacts), strict=True)}
    if holds:
        assert pairs[0, 1] == gap
    else:
        assert (0, 1) not in pairs


def test_a_moment_between_frames_measures_all_that_is_near() -> None:
    # The piece overlaps one bone and is 0.4 from the other.
    seen = view(0, n_bones=2)
    shapes = at(0), box(0.5, 0, 0.9, 1), box(1.4, 0, 2, 1)
    whole, between = (moment(seen, *shapes, time=time) for time in (1.0, 0.5))
    assert [x.tolist() for x in whole.contacts] == [[0], [1], [0]]
    assert [x.tolist() for x in between.contacts] == [
        [0, 0], [1, 2], [0, pytest.approx(0.4)],
    ]  # fmt: skip
    # What is known to be held is not asked again.
    known = moment(seen, *shapes, time=0.5, held=[0])
    assert len(known.contacts[0]) == 0
    assert known.floats() == ()


@pytest.mark.parametrize(("low", "fault"), [(2.0, ""), (2.25, "0.25 units lower")])
def test_what_reaches_below_the_floor_sinks(low: float, fault: str) -> None:
    deep = box(0, 0, 1, low)
    told = f"{fault} than allowed"
    assert moment(view(0), deep, UNIT).sinks() == ((((0,), told),) if fault else ())
    assert moment(view(0), UNIT, deep).sinks() == ((((1,), told),) if fault else ())
    assert moment(view(0, hidden=[0]), deep, UNIT).sinks() == ()
    seen = view(0, 1, hidden=[0])
    assert moment(seen, deep, deep, UNIT).sinks() == ((((1,), told),) if fault else ())


@pytest.mark.parametrize(
    ("x", "is_fault"), [(10.25, False), (10.26, True), (9.75, False), (9.74, True)]
)
def test_a_planted_foot_slides_by_the_spot_that_strays_most(
    x: float, *, is_fault: bool
) -> None:
    # Corners of a box: 0 and 1 to the right, low and high; only spot 0 is planted at 11.
    seen = replace(view(n_bones=1), soles=(Sole(0, np.array([0]), np.array([11.0])),))
    faults = moment(seen, at(x)).slides()
    assert [shapes for shapes, _ in faults] == [(0,)] * is_fault
    if is_fault:
        assert faults[0][1] == "has slid 0.26 units since it was planted"


def test_a_sole_has_slid_as_far_as_its_farthest_spot() -> None:
    foot = Polygon([(0, 0), (4, 0), (4, 2), (0, 2)])
    sole = Sole(1, np.array([2, 3]), np.array([4.5, -2.0]))
    assert sole.slid(np.array([UNIT, foot], dtype=object)) == 2.0


@pytest.mark.parametrize(("x", "is_fault"), [(0.5, False), (0.49, True)])
def test_pieces_at_one_depth_may_share_what_is_allowed(x: float, *, is_fault: bool) -> None:
    told = (((0, 1), "overlap by 0.51 at one depth"),) if is_fault else ()
    assert moment(view(3, 3), UNIT, at(x), UNIT).clashes() == told
    assert moment(view(3, 4), UNIT, at(x), UNIT).clashes() == ()
    assert moment(view(3, 3, hidden=[1]), UNIT, at(x), UNIT).clashes() == ()


def ways(*rows: Sequence[float]) -> np.ndarray:
    """(n_shapes, n_views)"""
    return np.array(rows, dtype=np.float64)


@pytest.mark.parametrize(("way", "is_tied"), [(0.5, True), (0.51, False)])
def test_a_pair_holds_through_a_span_by_its_gaps_and_its_way(
    way: float, *, is_tied: bool
) -> None:
    # Gaps of 0.125 and 0.375 and a way of 0.5 are within twice the reach of 0.5.
    seen = view(0)
    ends = [moment(seen, at(1 + gap), UNIT, time=0.5) for gap in (0.125, 0.375)]
    assert span(*ends).tied(ways([way], [0])).tolist() == [is_tied]
    assert span(*ends[::-1]).tied(ways([way - 0.125], [0.125])).tolist() == [is_tied]
    # The least way counts, of all frames of reference.
    assert span(*ends).tied(ways([9, way, 9], [9, 0, 0])).tolist() == [is_tied]


def test_a_pair_must_hold_at_both_ends_and_hidden_pieces_are_not_tied() -> None:
    seen = view(0)
    near, far = (moment(seen, at(1 + gap), UNIT, time=0.5) for gap in (0.0, 0.51))
    still = ways([0], [0])
    assert span(near, near).tied(still).tolist() == [True]
    assert span(near, far).tied(still).tolist() == [False]
    assert span(far, near).tied(still).tolist() == [False]
    hidden = view(0, hidden=[0])
    ends = [moment(hidden, at(1), UNIT, time=0.5)] * 2
    assert span(*ends).tied(still).tolist() == [False]
    # A change of what holds it ties nothing: first the one bone, then the other.
    two = view(0, n_bones=2)
    swapped = [moment(two, at(1), at(x), at(5 - x), time=0.5) for x in (0.0, 5.0)]
    assert span(*swapped).tied(ways([0], [0], [0])).tolist() == [False]


def test_nothing_floats_where_all_that_is_seen_is_held() -> None:
    still = ways([0], [0], [0])
    for held, hidden, is_held in (
        ([0, 1], [], True), ([0], [], False), ([0], [1], True), ([], [], False),
    ):  # fmt: skip
        seen = view(0, 1, hidden=hidden)
        ends = [moment(seen, UNIT, UNIT, UNIT, held=held)] * 2
        assert span(*ends).is_held(still) is is_held


@pytest.mark.parametrize(("way", "is_above"), [(0.5, True), (0.51, False)])
def test_nothing_sinks_while_its_way_is_too_short_for_it(
    way: float, *, is_above: bool
) -> None:
    # From 1.5 to 2.0 over a floor at 2: half a unit of way is left, as the stage sees it.
    seen = view(0)
    ends = [moment(seen, box(0, 0, 1, low), UNIT) for low in (1.5, 2.0)]
    assert span(*ends).is_above(ways([0, way], [0, 0])) is is_above
    assert span(*ends).is_above(ways([way + 9, 0], [0, 0]))
    hidden = view(0, hidden=[0])
    ends = [moment(hidden, box(0, 0, 1, low), UNIT) for low in (1.5, 9.0)]
    assert span(*ends).is_above(ways([way], [0]))


@pytest.mark.parametrize(("way", "is_planted"), [(0.125, True), (0.126, False)])
def test_no_foot_slides_while_its_way_is_too_short_for_it(
    way: float, *, is_planted: bool
) -> None:
    # It has slid by 0.125 and by 0.25: with a way of 0.125 twice the allowed 0.25.
    seen = replace(view(n_bones=1), soles=(Sole(0, np.array([0]), np.array([11.0])),))
    ends = [moment(seen, at(10 + off)) for off in (0.125, -0.25)]
    assert span(*ends).is_planted(ways([9, way])) is is_planted
    assert span(*(moment(view(n_bones=1), at(x)) for x in (0, 90))).is_planted(ways([9]))


@pytest.mark.parametrize(
    ("way", "allowed", "is_apart"),
    # 1 and 0.5 apart at the ends, they need more than 1.5 of way to meet. Then a square of
    # perimeter 4 and a way of w may come to share 4 w + pi w^2: at 1.5 that is 13.07.
    [(1.49, 0.5, True), (1.5, 0.5, False), (1.5, 13.06, False), (1.5, 13.07, True)],
)
def test_two_pieces_are_apart_while_their_way_is_too_short_to_meet(
    way: float, allowed: float, *, is_apart: bool
) -> None:
    seen = view(0, 0)
    seen = replace(seen, allowed=replace(LIMITS, clash_area=allowed))
    ends = [moment(seen, UNIT, at(1 + gap), UNIT) for gap in (1.0, 0.5)]
    assert span(*ends).is_apart(ways([way - 0.25], [0.25], [9])) is is_apart
    assert span(*ends).is_apart(ways([9, way], [9, 0], [9, 0])) is is_apart
    level = replace(seen, depth=np.array([0, 1]))
    ends = [replace(end, view=level) for end in ends]
    assert span(*ends).is_apart(ways([99], [99], [0]))


def test_of_two_that_touch_the_shorter_edge_sweeps_what_they_may_share() -> None:
    # Perimeters 4 and 12 or the other way round: 4 x 0.1 + pi x 0.01 = 0.4314.
    large = box(1, 0, 6, 1)
    for shapes in ((UNIT, large), (large, UNIT)):
        for allowed, is_apart in ((0.4315, True), (0.4313, False)):
            seen = replace(view(0, 0), allowed=replace(LIMITS, clash_area=allowed))
            ends = [moment(seen, *shapes, UNIT)] * 2
            assert span(*ends).is_apart(ways([0.1], [0], [0])) is is_apart


@pytest.mark.parametrize(("shared", "is_apart"), [(0.5, True), (0.51, False)])
def test_what_pieces_share_at_rest_may_be_all_that_is_allowed(
    shared: float, *, is_apart: bool
) -> None:
    ends = [moment(view(0, 0), UNIT, at(1 - shared), UNIT)] * 2
    assert span(*ends).is_apart(ways([0], [0], [0])) is is_apart
