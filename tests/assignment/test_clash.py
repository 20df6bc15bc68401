"""The clashing wishes that are named are the fewest there are."""

from __future__ import annotations

from collections.abc import Collection
from itertools import combinations

import numpy as np
import pytest

from panelbeater.assignment.clash import smallest_clash
from panelbeater.errors import NoAssignmentError
from panelbeater.terms.drawing import Wishes
from panelbeater.terms.figure import BONE_IDS
from tests.assignment.small import small_layout, small_vehicle

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


ALL_BUT_HAND = tuple(region for region in BONE_IDS if region != "hand_l")


@pytest.mark.parametrize(
    ("wishes", "named", "not_named"),
    [
        (
            {"rear": Wishes(pin="hand_l"), "front": Wishes(pin="hand_l"),
             "bar": Wishes(pin="torso")},
            ["pin rear to hand_l", "pin front to hand_l"], ["bar"],
        ),
        (
            {"rear": Wishes(pin="hand_l"), "front": Wishes(bans=ALL_BUT_HAND),
             "bar": Wishes(bans=("head",))},
            ["pin rear to hand_l", "ban front from waist, torso, head,"], ["bar"],
        ),
        (
            {"rear": Wishes(bans=ALL_BUT_HAND), "front": Wishes(bans=ALL_BUT_HAND)},
            ["ban rear from waist", "ban front from waist", "free this one"], ["pin"],
        ),
    ],
    ids=["two pins", "a pin and bans", "bans alone"],
)  # fmt: skip
def test_pins_and_bans_that_clash_are_named_and_no_others(
    wishes: dict[str, Wishes], named: list[str], not_named: list[str]
) -> None:
    # Two wheels to be kept in view are larger than a hand: one hides the other.
    with pytest.raises(NoAssignmentError) as told:
        small_layout(small_vehicle(**wishes))
    message = str(told.value)
    assert message.startswith("these wishes clash: ")
    assert "in view" in message
    for words in named:
        assert words in message
    for words in not_named:
        assert words not in message


def test_what_is_freed_as_told_can_be_laid() -> None:
    both = {"rear": Wishes(pin="hand_l"), "front": Wishes(bans=ALL_BUT_HAND)}
    small_layout(small_vehicle(**both | {"front": Wishes(bans=ALL_BUT_HAND[1:])}))
    small_layout(small_vehicle(**both | {"rear": Wishes()}))


def test_a_piece_that_may_lie_nowhere_is_named_with_what_was_wished() -> None:
    with pytest.raises(NoAssignmentError, match=r"no place .* door \(banned everywhere\)"):
        small_layout(small_vehicle(door=Wishes(bans=BONE_IDS)))
