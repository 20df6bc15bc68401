"""The rivals of the choice answer its own rows, and are held against one bound."""

from __future__ import annotations

import pytest

from benchmarks.assignment import Answer, Table, highs, under_all_rules
from benchmarks.rivals import by_exchange, by_linear_sum
from panelbeater.assignment.rows import rows_of
from panelbeater.assignment.solve import build
from tests.assignment.random_case import random_case
from tests.assignment.tiny import every_layout, value_of

pytestmark = pytest.mark.solve
ROUNDING = 2e-5


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_highs_finds_the_best_and_the_plain_ways_no_more(seed: int) -> None:
    case = random_case(seed)
    best = max(value_of(case, layout) for layout in every_layout(case))
    model, table = build(case)
    rows = rows_of(model, len(table.chosen))
    value, bound = highs(rows, 30.0)
    assert value == pytest.approx(best, rel=0.01)
    assert bound >= best - ROUNDING
    for way in (by_exchange, by_linear_sum):
        chosen = way(case).chosen
        found = under_all_rules(rows, chosen)
        assert found == pytest.approx(value_of(case, chosen.tolist()), abs=ROUNDING)
        assert found <= best + ROUNDING


def test_a_gap_is_held_against_the_least_bound_of_any_way() -> None:
    ours, loose = Answer("ours", 1.0, 0.9, 1.2), Answer("HiGHS", 1.0, 0.5, 1.0)
    table = Table("pieces", 4, 4, 20, (ours, loose))
    assert table.gap(ours) == pytest.approx(0.1)
    assert table.gap(loose) == pytest.approx(0.5)
