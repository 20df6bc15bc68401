"""Large models leave the zeros out, and come to the same layouts to the last digit."""

from __future__ import annotations

import numpy as np
import pytest

from panelbeater.assignment import ledger as ledgers
from panelbeater.assignment.ledger import Ledger
from panelbeater.assignment.rows import rows_of
from panelbeater.assignment.solve import build
from tests.assignment.random_case import random_case


def _ledger(seed: int) -> Ledger:
    case = random_case(seed)
    model, table = build(case)
    piece = np.array([place.piece for place in case.placements])
    return Ledger.of(rows_of(model, len(table.chosen)), piece)


@pytest.mark.solve
@pytest.mark.parametrize("seed", range(4))
def test_a_ledger_without_its_zeros_says_the_same_to_the_last_digit(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    full = _ledger(seed)
    monkeypatch.setattr(ledgers, "MOST_FULL", 0)
    spare = _ledger(seed)
    assert isinstance(full.columns, np.ndarray)
    assert not isinstance(spare.columns, np.ndarray)
    chosen = np.array([mine[-1] for mine in full.of_piece])
    assert np.array_equal(full.adding(3), spare.adding(3))
    assert np.array_equal(full.load(chosen), spare.load(chosen))
    assert full.value(chosen) == spare.value(chosen)
    load = full.load(chosen[1:])
    one, other = (x.with_piece(load, 0.5, full.of_piece[0]) for x in (full, spare))
    assert np.array_equal(one, other)
