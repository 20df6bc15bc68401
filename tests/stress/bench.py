"""The yard tractor's shot on the bench, short and laid by hand."""

from __future__ import annotations

from functools import cache

from panelbeater.animation import ShotPlan
from panelbeater.scores import STANDARD, score_shot
from panelbeater.stress.case import Case
from panelbeater.verdict import allowances_of, frames_of
from tests.yard import yard


@cache
def tractor_plan() -> ShotPlan:
    shot = yard()
    return ShotPlan(shot.rig, shot.sample, shot.assignment, shot.schedule)


@cache
def tractor_case() -> Case:
    plan = tractor_plan()
    whole, half = frames_of(plan)
    scores = score_shot(whole, half_frames=half, allowances=allowances_of(plan))
    return Case("tractor", plan, whole, scores, STANDARD)
