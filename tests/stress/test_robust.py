"""What a strain's draws come to: spread, worst, which promises break and how often."""

from __future__ import annotations

from dataclasses import replace

import pytest

from panelbeater.stress.robust import LAYOUT, Strain, row_of, strains_of
from panelbeater.stress.trials import Figures, Trial, figures_of
from tests.stress.bench import tractor_case


def own() -> Figures:
    return figures_of(tractor_case().scores)


def strain(n_draws: int, *, stills_only: bool = False) -> Strain:
    draws = tuple(Trial("body", seed=k) for k in range(n_draws))
    return Strain("figure", "other proportions", draws, stills_only)


def draw(coverage: float, *broken: str, shortest: float = 1.0) -> Figures:
    kept = {name: name not in broken for name in own().kept}
    values = {**own().values, "coverage": coverage}
    return replace(own(), kept=kept, values=values, shortest=shortest)


def test_the_worst_and_the_middle_draw_are_told() -> None:
    plan = own().values["coverage"]
    found = [draw(plan - 0.02), draw(plan - 0.2, shortest=0.7), draw(plan, shortest=0.9)]
    row = row_of(tractor_case(), own(), strain(3), found)
    cell = row.cells["coverage"]
    assert (cell.low, cell.middle, cell.high) == (plan - 0.2, plan - 0.02, plan)
    assert cell.worst == plan - 0.2
    assert cell.worse_by == pytest.approx(0.2 / max(plan, 0.75))
    assert row.worst is found[1]
    assert row.shortest == 0.7
    assert (row.broken, row.draws_broken) == ((), 0)


def test_a_promise_counts_once_a_draw_and_only_where_the_plan_keeps_it() -> None:
    found = [draw(0.8, "leak", "ground"), draw(0.8), draw(0.8, "leak")]
    row = row_of(tractor_case(), own(), strain(3), found)
    assert row.broken == ("leak", "ground")
    assert row.draws_broken == 2
    assert row.worst is found[0]
    leaks = replace(own(), kept={**own().kept, "leak": False})
    row = row_of(tractor_case(), leaks, strain(3), found)
    assert (row.broken, row.draws_broken) == (("ground",), 1)


def test_redrawn_pieces_may_differ_from_the_input_but_not_float() -> None:
    found = [draw(0.8, "vehicle error", "ground"), draw(0.8, "landing", "float")]
    row = row_of(tractor_case(), own(), strain(2, stills_only=True), found)
    assert (row.broken, row.draws_broken) == (("float",), 1)
    assert set(row.cells) <= set(LAYOUT)


def test_draws_that_cannot_be_planned_are_left_out_or_said() -> None:
    lost = Figures(failed="no placement on the head")
    row = row_of(tractor_case(), own(), strain(2), [lost, draw(0.8)])
    assert row.cells["coverage"].low == row.cells["coverage"].high == 0.8
    row = row_of(tractor_case(), own(), strain(2), [lost, lost])
    assert (row.failed, row.cells) == ("no placement on the head", {})


def test_the_plans_own_length_and_exposure_are_no_strain() -> None:
    case = tractor_case()
    names = [s.name for s in strains_of(case)]
    assert "48 frames" not in names
    assert "on ones" not in names
    shot = replace(case.plan.rig.shot, n_frames=96, exposure=2)
    plan = replace(case.plan, rig=replace(case.plan.rig, shot=shot))
    names = [s.name for s in strains_of(replace(case, plan=plan))]
    assert {"48 frames", "on ones", "on threes"} <= set(names)
    assert not {"96 frames", "on twos"} & set(names)
