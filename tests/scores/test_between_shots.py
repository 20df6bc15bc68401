"""The certificate on whole motions: how far it halves, and which frames it tells of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pytest
from shapely import Polygon, box
from shapely.affinity import translate

from panelbeater.scores.between import Stance, certify
from panelbeater.scores.between.certificate import FINEST
from panelbeater.terms.arrays import Flags, Floats, Ints
from panelbeater.terms.drawing import Shape
from tests.scores.moving import ALLOWED, Moving, first_time, verdict

UNIT = box(0, 0, 1, 1)


def test_a_frame_is_halved_ten_times_and_no_more() -> None:
    # The squares meet at 1/3: the first 1024th after it is told.
    moving = Moving((lambda _: UNIT, lambda t: translate(UNIT, 2 - 3 * t)), (0.0, 3.0))
    assert first_time(verdict(moving), "clash") == 342 / 1024
    # At its limit and of no known speed, it is looked at in every one of them.
    low = replace(ALLOWED, floor=1.0)
    found = verdict(Moving((lambda _: UNIT,), (1.0,), UNIT), low)
    assert FINEST == 10
    assert found.n_moments == 2 + 1023
    assert found.unsure == ((0, "ground"),)


@pytest.mark.parametrize(
    ("speed", "n_moments"),
    # Half a unit is left over the floor at both ends, so that a way of 1 excludes a touch:
    # the whole frame at a speed of 1, halves of it at 2, quarters at more.
    [(0.0, 2), (1.0, 2), (1.01, 3), (2.0, 3), (2.01, 5), (4.0, 5), (4.01, 9)],
)
def test_a_frame_is_looked_at_as_often_as_its_speed_asks(
    speed: float, n_moments: int
) -> None:
    moving = Moving((lambda _: UNIT,), (speed,), box(-9, -9, 9, 1))
    found = verdict(moving, replace(ALLOWED, floor=1.5, body_contact=9.0))
    assert found.is_certified
    assert found.n_moments == n_moments


def test_what_rests_exactly_at_its_limits_is_certified() -> None:
    # On the floor, and on a bone and on a piece at just the gap that still holds.
    allowed = replace(ALLOWED, floor=1.0, body_contact=0.25, piece_contact=0.125)
    looks = (lambda _: translate(UNIT, 1.25), lambda _: translate(UNIT, 2.375))
    found = verdict(Moving(looks, (0.0, 0.0), UNIT), allowed)
    assert found.is_certified
    assert found.n_moments == 2
    # What is wrong in both whole frames is told by the promises of the frames.
    closer = verdict(Moving(looks, (0.0, 0.0), UNIT), replace(allowed, piece_contact=0.1))
    assert closer.broken == ()
    assert closer.is_certified


@dataclass(frozen=True)
class Staged(Moving):
    """Pieces, each with a drawing, a depth and a visibility from each frame to the next."""

    drawn: tuple[tuple[Shape, ...], ...] = ()
    """[frame][piece]"""
    depths: tuple[tuple[int, ...], ...] = ()
    hidden: tuple[tuple[int, int], ...] = ()
    """(frame, piece)"""

    def shapes(self, times: Floats, frames: Ints) -> list[list[Shape]]:
        return [[*self.drawn[frame], self.body] for frame in frames.tolist()]

    def visible(self) -> Flags:
        out = np.ones((len(self.drawn), len(self.drawn[0])), dtype=np.bool_)
        for cell in self.hidden:
            out[cell] = False
        return out

    def depth(self) -> Ints:
        return np.array(self.depths or [range(len(row)) for row in self.drawn])

    def travel(self, start: Floats, _: Floats) -> Floats:
        return np.zeros((len(start), len(self.drawn[0]) + 1, 1))


def staged(*drawn: Sequence[Shape], **more: object) -> Staged:
    looks = (lambda _: UNIT,) * len(drawn[0])
    return Staged(looks, (0.0,) * len(looks), drawn=tuple(map(tuple, drawn)), **more)  # type: ignore[arg-type]


Told = list[tuple[tuple[float, ...], tuple[str, ...]]]
"""Frames and pieces of each broken place."""


def pops(moving: Staged, share: float = 1e-4) -> Told:
    found = verdict(moving, replace(ALLOWED, pop=share))
    assert found.unsure == ()
    assert all(name == "pop" for name, _ in found.broken)
    return [(place.frames, place.pieces) for _, place in found.broken]


QUARTER = translate(UNIT, 0.75)
FAR = translate(UNIT, 5)
SWAPPED = ((0, 1), (1, 0), (1, 0))


def test_a_change_of_order_may_be_seen_over_just_what_is_allowed() -> None:
    moving = staged(*[(UNIT, QUARTER)] * 3, depths=SWAPPED)
    assert pops(moving, 0.25) == []
    assert pops(moving, 0.24) == [((1.0,), ("piece0", "piece1"))]
    found = verdict(moving)
    assert found.lines()[1].endswith("change places over 0.25 of the smaller piece")


def test_an_order_that_stands_or_only_begins_is_no_pop() -> None:
    for depths in (((0, 1),) * 3, ((0, 0), (0, 1), (0, 1)), ((1, 0), (1, 0), (5, 0))):
        assert pops(staged(*[(UNIT, FAR)] * 3, depths=depths)) == []
    for depths in (((0, 1),) * 3, ((1, 0), (1, 0), (5, 0))):
        assert pops(staged(*[(UNIT, QUARTER)] * 3, depths=depths)) == []


@pytest.mark.parametrize("frame", [0, 1])
def test_pieces_must_overlap_on_both_sides_of_the_change(frame: int) -> None:
    drawn = [(UNIT, QUARTER)] * 3
    drawn[frame] = (UNIT, FAR)
    assert pops(staged(*drawn, depths=SWAPPED)) == []
    # With a little less of it on the one side, that is the share.
    drawn[frame] = (UNIT, translate(UNIT, 0.875))
    assert pops(staged(*drawn, depths=SWAPPED), 0.125) == []
    assert pops(staged(*drawn, depths=SWAPPED), 0.12) == [((1.0,), ("piece0", "piece1"))]


@pytest.mark.parametrize("frame", [0, 1])
@pytest.mark.parametrize("piece", [0, 1])
def test_a_piece_hidden_on_one_side_does_not_pop(frame: int, piece: int) -> None:
    more = translate(UNIT, 0.5)
    moving = staged(
        *[(UNIT, QUARTER, more)] * 3,
        depths=((0, 1, 2), (1, 0, 2), (1, 0, 2)),
        hidden=((frame, piece),),
    )
    assert pops(moving) == []


def test_the_pair_that_pops_is_named_though_others_are_hidden() -> None:
    # Two of four are away; the two others change places, and only in frame 2.
    moving = staged(
        *[(UNIT, FAR, UNIT, QUARTER)] * 4,
        depths=((0, 1, 2, 3), (0, 1, 2, 3), (0, 1, 3, 2), (0, 1, 3, 2)),
        hidden=tuple((frame, 0) for frame in range(4)),
    )
    assert pops(moving) == [((2.0,), ("piece2", "piece3"))]
    # A third piece over what the two share hides the change.
    moving = staged(
        *[(QUARTER, UNIT, QUARTER)] * 3, depths=((9, 0, 1), (9, 1, 0), (9, 1, 0))
    )
    assert pops(moving) == []


def test_a_piece_that_goes_from_one_bone_to_another_with_its_drawing_is_held() -> None:
    # The last frame's drawing hangs on the other end of the body, and is as sound.
    left, right = translate(UNIT, 1), translate(UNIT, 7)
    body = Polygon([(0, -1), (1, -1), (1, 1.5), (8, 1.5), (8, -1), (9, -1), (9, 2), (0, 2)])
    moving = replace(staged((left,), (right,), (right,)), body=body)
    found = verdict(moving)
    assert found.is_certified
    assert found.n_moments == 3


def test_a_clash_that_begins_with_a_whole_frame_is_the_frames_own() -> None:
    # They meet less than a 1024th before frame 1, and lie over each other from there on.
    def coming(t: float) -> Polygon:
        return translate(UNIT, max(0.5, 1 + 1024 * (0.9995 - t)))

    held = replace(ALLOWED, body_contact=1e4)
    moving = Moving((lambda _: UNIT, coming), (0.0, 1024.0), n_frames=3)
    assert verdict(moving, held).broken == ()
    # A thousandth earlier it is a clash between frames, and told as one.
    early = Moving(
        (lambda _: UNIT, lambda t: coming(t + 1 / 1024)), (0.0, 1024.0), n_frames=3
    )
    assert first_time(verdict(early, held), "clash") == 1023 / 1024


@dataclass(frozen=True)
class Treading(Moving):
    """A foot that goes to the right by 0.02 a frame, and may draw back its heel."""

    n_frames: int = 6
    heel: float = 0.0
    """How far it is drawn back a frame, raised by 0.02 from frame 1 on."""

    def shapes(self, times: Floats, _: Ints) -> list[list[Shape]]:
        feet: list[list[Shape]] = []
        for t in times.tolist():
            x, back = 0.02 * t, self.heel * t
            up = 0.02 if back and t >= 1 else 0.0
            feet.append([Polygon([(4 + x, 0), (x - back, -up), (x, -1), (4 + x, -1)])])
        return feet

    def travel(self, start: Floats, stop: Floats) -> Floats:
        ways: Floats = (0.02 + self.heel) * (stop - start)[:, None, None]
        return ways


def _sliding(foot: Treading, start: int, stop: int, sole: float = 0.01) -> list[float]:
    """The first moment told of in each frame: a slide of 0.05."""
    allowed = replace(ALLOWED, sole=sole)
    found = certify(foot, [], ["foot"], allowed, [Stance(0, start, stop)])
    assert all(place.pieces == ("bone foot",) for _, place in found.broken)
    return [place.frames[0] for _, place in found.broken]


def test_a_foot_slides_from_where_its_stance_began_until_it_ends() -> None:
    # By 0.05 after two and a half frames; it is told in every frame of the stance.
    foot = Treading((), ())
    assert _sliding(foot, 0, 5) == [pytest.approx(2.5, abs=2 / 1024), 3, 4]
    assert _sliding(foot, 1, 5) == [pytest.approx(3.5, abs=2 / 1024), 4]
    assert _sliding(foot, 0, 2) == []
    assert _sliding(foot, 0, 3) == [pytest.approx(2.5, abs=2 / 1024)]


def test_only_what_lay_on_the_ground_is_of_the_sole() -> None:
    # Its heel goes back half a unit a frame. Planted at frame 0, it is of the sole; from
    # frame 1 on it is 0.02 over its toe, and the sole no higher than 0.01.
    foot = Treading((), (), heel=0.5)
    assert _sliding(foot, 1, 3) == []
    assert _sliding(foot, 1, 3, sole=0.02) == [
        pytest.approx(1 + 0.05 / 0.48, abs=2 / 1024),
        2,
    ]
    assert _sliding(foot, 0, 1) == [pytest.approx(0.05 / 0.48, abs=2 / 1024)]
