"""Sizes change where nobody can tell, on the finished shot as the judge sees it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from panelbeater.animation import Hidden, ShotPlan, animate, animate_unseen
from panelbeater.paths import hidden_rooms
from panelbeater.paths.sizes import HIDDEN_CHANGE
from panelbeater.scores.limits import STANDARD
from panelbeater.scores.motion import Drawings, lay_drawings, score_secrecy
from panelbeater.scores.motion.secrecy import _gate
from panelbeater.scores.tracks import lay_out
from panelbeater.terms.assignment import Asked, Assignment
from panelbeater.terms.pose import Fold
from panelbeater.terms.timing import ShotOptions
from panelbeater.verdict import frames_of, judge
from tests.yard import GROUND, yard

pytestmark = [pytest.mark.shot, pytest.mark.slow]
Move = Callable[[Hidden, Fold, Assignment, ShotOptions], ShotPlan]


def _resized() -> Assignment:
    """The yard's layout with every piece a little larger or smaller than drawn."""
    covers, laid = [], yard(72).assignment
    for at, cover in enumerate(laid.covers):
        size = (0.94, 1.05)[at % 2] / cover.scale
        place = cover.stage_from_piece @ np.diag([size, size, 1.0])
        covers.append(replace(cover, stage_from_piece=place, scale=cover.scale * size))
    return replace(laid, covers=tuple(covers))


@cache
def _moved(move: Move, shot: ShotOptions) -> ShotPlan:
    base = yard(72)
    body = Hidden(base.drawing, base.figure, (base.fold,), GROUND, (), Asked())
    return move(body, base.fold, _resized(), shot)


def _shown(plan: ShotPlan) -> Drawings:
    return lay_drawings(lay_out(frames_of(plan)[0], STANDARD))


def _seen(plan: ShotPlan) -> float:
    return score_secrecy(_shown(plan))[0].value


def test_the_way_hides_what_the_judge_finds_hidden() -> None:
    plan = _moved(animate, ShotOptions())
    shown = _shown(plan)
    found = np.sum([_gate(shown, at) for at in range(shown.n_steps)], axis=0)
    steps = np.round(hidden_rooms(plan.rig, plan.sample) / HIDDEN_CHANGE)
    assert steps.max() >= 3
    assert np.all(steps <= found)  # ours are a little stricter
    assert found.sum() - steps.sum() <= 0.1 * found.sum()


@pytest.mark.parametrize("shot", [ShotOptions(), ShotOptions(reverse=True)])
def test_what_a_way_cannot_hide_is_taken_back(shot: ShotOptions) -> None:
    assert _seen(_moved(animate, shot)) > 0.3
    assert _seen(_moved(animate_unseen, shot)) < 0.1
    assert judge(_moved(animate_unseen, shot)).kept


def test_an_arm_that_opens_alone_wears_what_it_wears_on_the_whole_robot() -> None:
    whole = _moved(animate_unseen, ShotOptions())
    alone = _moved(animate_unseen, ShotOptions(only=("arm_l",)))
    worn = [
        (one.stage_from_piece, other.stage_from_piece)
        for one, other in zip(whole.assignment.covers, alone.assignment.covers, strict=True)
        if other.region in ("upper_arm_l", "forearm_l", "hand_l")
    ]
    assert worn
    assert all(np.array_equal(one, other) for one, other in worn)
