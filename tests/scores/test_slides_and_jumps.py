"""Between two frames no planted foot strays and no order changes in sight."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from shapely import box
from shapely.affinity import translate

from panelbeater.scores.between import Stance, certify
from panelbeater.terms.arrays import Floats, Ints
from panelbeater.terms.drawing import Shape
from tests.scores.moving import ALLOWED, MOMENT, Moving, first_time, verdict


class Straying(Moving):
    """Its body goes up to 0.1 to the right between two frames and comes back."""

    def shapes(self, times: Floats, frames: Ints) -> list[list[Shape]]:
        return [
            [*row[:-1], translate(row[-1], 0.4 * t * (1 - t))]
            for t, row in zip(times.tolist(), super().shapes(times, frames), strict=True)
        ]

    def travel(self, start: Floats, stop: Floats) -> Floats:
        ways = super().travel(start, stop)
        ways[:, -1, 0] = 0.4 * (stop - start)
        return ways


def test_a_planted_foot_that_strays_between_two_frames_slides_and_a_free_one_does_not() -> (
    None
):
    foot, stance = Straying((), ()), Stance(0, 0, 1)
    assert certify(foot, [], ["foot_l"], ALLOWED).is_certified
    found = certify(foot, [], ["foot_l"], ALLOWED, [stance])
    # 0.4 t (1 - t) passes 0.05 at t = 0.14645.
    assert first_time(found, "slide") == pytest.approx(0.14645, abs=2 * MOMENT)
    loose = replace(ALLOWED, slide=0.1 + MOMENT)
    assert certify(foot, [], ["foot_l"], loose, [stance]).is_certified


@dataclass(frozen=True)
class Restacked(Moving):
    """Two pieces that change their order at frame 1."""

    n_frames: int = 3

    def depth(self) -> Ints:
        return np.array([[0, 1], [1, 0], [1, 0]])


@pytest.mark.parametrize("gap", [0.0, 0.4, -0.01])
def test_an_order_that_changes_while_two_pieces_overlap_is_a_pop(gap: float) -> None:
    still, coming = box(0, 0, 1, 1), box(1, 0, 2, 1)
    # They are `gap` apart at frames and overlap by up to 0.4 more in the middle of each.
    moving = Restacked(
        (
            lambda _: still,
            lambda t: translate(coming, gap - 1.6 * (t % 1) * (1 - t % 1)),
        ),
        (0.0, 1.6),
    )
    found = verdict(moving)
    assert found.is_certified == (gap >= 0)
    if gap < 0:
        assert first_time(found, "pop") == 1.0
        assert "change places over 0.01 of" in found.lines()[1]
