"""Each rule of the assignment, judged on the smallest plan that breaks it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from shapely import box

from panelbeater.scores import Placed, judge_rules
from panelbeater.scores.placed import mirror_region

GOOD = [
    Placed("hood", "torso", "panel", pin="torso"),
    Placed("front", "foot_l", "wheel", mirror="rear"),
    Placed("rear", "foot_r", "wheel", mirror="front"),
]
PIECES = ["hood", "front", "rear"]
HABITS = {"wheel": ("foot", "shank"), "window": ("torso",)}


def test_a_good_plan_keeps_every_rule() -> None:
    assert judge_rules(GOOD, PIECES, habits=HABITS) == ()


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
            "habits",
            ("front",),
            False,
        ),
    ],
)  # fmt: skip
def test_one_broken_rule_is_the_only_one_reported(
    placed: list[Placed], rule: str, pieces: tuple[str, ...], *, must: bool
) -> None:
    (found,) = judge_rules(placed, PIECES, habits=HABITS)
    assert (found.rule, found.pieces, found.must) == (rule, pieces, must)


def test_middle_regions_answer_themselves() -> None:
    assert mirror_region("torso") == "torso"
    assert mirror_region("foot_l") == "foot_r"
    assert mirror_region("upper_arm_r") == "upper_arm_l"


def _rules(placed: Sequence[Placed]) -> list[str]:
    return [found.rule for found in judge_rules(placed, [c.piece for c in placed])]


def test_a_mirror_pair_of_two_sizes_is_told() -> None:
    large = replace(GOOD[1], scale=1.3)
    (found,) = judge_rules([GOOD[0], large, GOOD[2]], PIECES)
    assert (found.rule, found.pieces) == ("mirror sizes", ("front", "rear"))
    assert "1.30 and 1.00" in found.detail
    assert _rules([GOOD[0], replace(large, scale=1.05), GOOD[2]]) == []


def test_a_habit_is_broken_when_most_of_a_kind_lie_elsewhere() -> None:
    panes = [Placed("a", "torso", "window"), Placed("b", "head", "window")]
    ids = ["a", "b", "c"]
    assert judge_rules([*panes, Placed("c", "torso", "window")], ids, habits=HABITS) == ()
    (found,) = judge_rules([*panes, Placed("c", "waist", "window")], ids, habits=HABITS)
    assert (found.rule, found.pieces) == ("habits", ("b", "c"))
    pinned = Placed("c", "waist", "window", pin="waist")
    assert judge_rules([*panes, pinned], ids, habits=HABITS) == ()


@pytest.mark.parametrize(
    ("left", "right", "alike"),
    [("#cc2222", "#cc2a22", True), ("#cc2222", "#22cc22", False)],
    ids=["one paint", "two paints"],
)
def test_twin_limbs_in_two_paints_are_told(left: str, right: str, *, alike: bool) -> None:
    tile = box(0, 0, 2, 2)
    both = [Placed("a", "shank_l", colour=left, drawn=tile, depth=1, drawn_depth=1),
            Placed("b", "shank_r", colour=right, drawn=tile)]  # fmt: skip
    assert _rules(both) == ([] if alike else ["twin limbs"])
    if not alike:
        (broken,) = judge_rules(both, ["a", "b"])
        assert broken.told == "twin limbs: shank_l and shank_r wear unlike pieces"
    bare = [both[0], replace(both[1], region="torso")]
    assert _rules(bare) == ["twin limbs"]


def test_a_lamp_that_sat_on_a_panel_may_not_end_under_it() -> None:
    panel = Placed("panel", "torso", drawn=box(0, 0, 9, 9), laid=box(0, 0, 9, 9))
    lamp = Placed("lamp", "torso", drawn=box(1, 1, 3, 3), laid=box(4, 4, 6, 6),
                  drawn_depth=1, depth=1)  # fmt: skip
    assert _rules([panel, lamp]) == []
    assert _rules([replace(panel, depth=2), lamp]) == ["what lies over what"]
    beside = replace(lamp, laid=box(20, 0, 22, 2))
    assert _rules([replace(panel, depth=2), beside]) == []
    elsewhere = replace(lamp, region="head")
    assert _rules([replace(panel, depth=2), elsewhere]) == []


def test_cover_that_was_asked_for_is_measured_on_its_own_region() -> None:
    half = Placed("plate", "torso", laid=box(0, 0, 5, 10))
    spans = Placed("bar", "head", laid=box(5, 0, 10, 10))
    regions = {"torso": box(0, 0, 10, 10), "head": box(20, 0, 30, 10)}

    def asked(least: float) -> list[str]:
        found = judge_rules(
            [half, spans], ["plate", "bar"], regions=regions, wanted={"torso": least}
        )
        return [one.detail for one in found]

    assert asked(0.5) == []
    assert asked(0.6) == ["torso is covered 50%, asked for 60%"]


def test_a_piece_hidden_away_unasked_is_told() -> None:
    gone = Placed("antenna", "torso", stowed=True)
    assert _rules([gone]) == ["stowed"]
    assert _rules([replace(gone, may_stow=True)]) == []
