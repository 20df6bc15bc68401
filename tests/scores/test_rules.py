"""Each rule of the assignment, judged on the smallest plan that breaks it."""

from __future__ import annotations

import pytest

from panelbeater.scores import Placed, judge_rules
from panelbeater.scores.rules import mirror_region

GOOD = [
    Placed("hood", "torso", "panel", pin="torso"),
    Placed("front", "foot_l", "wheel", mirror="rear"),
    Placed("rear", "foot_r", "wheel", mirror="front"),
]
PIECES = ["hood", "front", "rear"]


def test_a_good_plan_keeps_every_rule() -> None:
    assert judge_rules(GOOD, PIECES) == ()


@pytest.mark.parametrize(
    ("placed", "rule", "pieces", "must"),
    [
        (GOOD[1:], "each piece once", ("hood",), True),
        ([*GOOD, Placed("hood", "torso")], "each piece once", ("hood",), True),
        ([*GOOD, Placed("roof", "head")], "each piece once", ("roof",), True),
        ([Placed("hood", "head", pin="torso"), *GOOD[1:]], "pins", ("hood",), True),
        ([Placed("hood", "head", bans=("head",)), *GOOD[1:]], "bans", ("hood",), True),
        (
            [GOOD[0], Placed("front", "shank_l", "wheel", mirror="rear"), GOOD[2]],
            "mirror pairs",
            ("front", "rear"),
            False,
        ),
        (
            [GOOD[0], *(Placed(p, f"thigh_{s}", k) for p, s, k in (
                ("front", "l", "wheel"), ("rear", "r", "panel")))],
            "wheels",
            ("front",),
            False,
        ),
    ],
)  # fmt: skip
def test_one_broken_rule_is_the_only_one_reported(
    placed: list[Placed], rule: str, pieces: tuple[str, ...], *, must: bool
) -> None:
    (found,) = judge_rules(placed, PIECES)
    assert (found.rule, found.pieces, found.must) == (rule, pieces, must)


def test_middle_regions_answer_themselves() -> None:
    assert mirror_region("torso") == "torso"
    assert mirror_region("foot_l") == "foot_r"
    assert mirror_region("upper_arm_r") == "upper_arm_l"
