"""The clashing wishes that are named are the fewest there are."""

from __future__ import annotations

from collections.abc import Collection
from itertools import combinations

import numpy as np
import pytest

from panelbeater.assignment.clash import smallest_clash

pytestmark = pytest.mark.solve


@pytest.mark.parametrize("seed", range(8))
def test_no_smaller_set_of_wishes_clashes(seed: int) -> None:
    rng = np.random.default_rng(seed)
    wishes = [f"wish {i}" for i in range(7)]
    clashing = [
        frozenset(rng.choice(wishes, size=int(rng.integers(2, 5)), replace=False).tolist())
        for _ in range(4)
    ]

    def can_grant(some: Collection[str]) -> bool:
        return not any(group <= set(some) for group in clashing)

    found = smallest_clash(wishes, can_grant)
    fewest = next(
        n
        for n in range(1, len(wishes) + 1)
        if any(not can_grant(some) for some in combinations(wishes, n))
    )
    assert not can_grant(found)
    assert len(found) == fewest


def test_a_small_clash_hidden_among_larger_ones_is_found() -> None:
    # Dropping wishes one by one from the front would end with the last three.
    def can_grant(some: Collection[str]) -> bool:
        have = set(some)
        return not (have >= {"a", "b"} or have >= {"c", "d", "e"})

    assert smallest_clash(list("abcde"), can_grant) == ["a", "b"]
