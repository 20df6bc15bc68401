"""Crouches, the way back, single limbs and short shots keep every promise, between frames
as well.
"""

from __future__ import annotations

import pytest

from panelbeater.animation import Hidden, animate
from panelbeater.terms.assignment import Asked
from panelbeater.terms.timing import ShotOptions
from panelbeater.verdict import judge
from tests.yard import GROUND, yard

SHOTS = {
    "crouch": ShotOptions(action="crouch"),
    "way back": ShotOptions(reverse=True),
    "way back over a crouch": ShotOptions(action="crouch", reverse=True),
    "an arm": ShotOptions(only=("arm_l",)),
    "a leg": ShotOptions(only=("leg_r",)),
    "head and arm": ShotOptions(only=("head", "arm_r")),
    "one second": ShotOptions(n_frames=24),
    "a second and a half": ShotOptions(n_frames=36),
    "two seconds, crouching": ShotOptions(n_frames=48, action="crouch"),
}


@pytest.mark.shot
@pytest.mark.parametrize("name", SHOTS)
def test_a_shot_of_another_kind_keeps_its_promises_at_every_moment(name: str) -> None:
    base = yard(72)
    hidden = Hidden(base.drawing, base.figure, (base.fold,), GROUND, (), Asked())
    scores = judge(animate(hidden, base.fold, base.assignment, SHOTS[name]))
    assert [promise.name for promise in scores.promises if not promise.kept] == []
    assert scores.between is not None
    assert scores.between.broken == ()
    assert scores.between.unsure == ()
