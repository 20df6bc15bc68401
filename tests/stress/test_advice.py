from __future__ import annotations

import pytest

from panelbeater.stress.advice import weigh
from panelbeater.stress.ideas import Idea, ideas_for
from panelbeater.stress.motion import worst_moments
from panelbeater.stress.plain import say
from panelbeater.stress.trials import Figures, Trial, figures_of
from tests.stress.bench import tractor_case

IDEA = Idea("linger", "too much", Trial("linger"), ("bundles",))


def after(**values: float) -> Figures:
    own = figures_of(tractor_case().scores)
    named = {name.replace("_", " "): value for name, value in values.items()}
    return Figures(kept=dict(own.kept), values={**own.values, **named})


def before(**values: float) -> Figures:
    return after(**values)


def test_a_gain_is_a_share_of_the_miss() -> None:
    # Four groups are wanted: from ten to seven makes good half of the six too many.
    found = weigh(tractor_case(), IDEA, before(bundles=10), after(bundles=7))
    assert [g.score for g in found.gains] == ["bundles"]
    assert found.gains[0].nearer == pytest.approx(0.5)
    assert found.losses == ()
    assert found.helps


def test_advice_that_breaks_a_promise_is_not_given() -> None:
    spoilt = after(bundles=4)
    spoilt.kept["float"] = not spoilt.kept["float"]
    was = before(bundles=10)
    was.kept["float"], spoilt.kept["float"] = True, False
    found = weigh(tractor_case(), IDEA, was, spoilt)
    assert found.broken == ("float",)
    assert not found.helps


def test_advice_that_costs_more_than_half_of_what_it_wins_is_not_given() -> None:
    was = before(bundles=10, tracking_load=1.0)
    dear = weigh(tractor_case(), IDEA, was, after(bundles=9, tracking_load=1.1))
    cheap = weigh(tractor_case(), IDEA, was, after(bundles=5, tracking_load=1.01))
    assert [g.score for g in dear.losses] == ["tracking load"]
    assert not dear.helps
    assert cheap.helps


def test_what_cannot_be_planned_says_why() -> None:
    found = weigh(tractor_case(), IDEA, before(), Figures(failed="no place on the robot"))
    assert not found.helps
    assert found.failed == "no place on the robot"


def test_ideas_name_pieces_and_frames_as_people_do() -> None:
    ideas = ideas_for(tractor_case())
    assert ideas
    assert all(idea.why and idea.words[0].islower() for idea in ideas)
    assert say("plate_00") == "the plate 00"


def test_the_worst_moments_light_the_pieces_at_fault() -> None:
    case = tractor_case()
    found = worst_moments(case)
    load = next(s.series for s in case.scores.motion if s.name == "tracking load")
    assert load is not None
    busiest = next(m for m in found if m.headline == "most to follow")
    assert load[busiest.frame] == max(load)
    names = {p.id for p in case.plan.rig.drawing.pieces}
    assert all(set(m.pieces) <= names for m in found)
    assert busiest.pieces
