"""Rules of the assignment just where they begin to be broken."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import box

from panelbeater.scores import Placed, judge_rules
from panelbeater.scores.placed import mirror_region, mismatch, stem

HABITS = {"wheel": ("foot", "shank")}


def rules(*placed: Placed) -> list[tuple[str, tuple[str, ...]]]:
    found = judge_rules(placed, [cover.piece for cover in placed], habits=HABITS)
    return [(one.rule, one.pieces) for one in found]


def test_half_of_a_kind_may_lie_elsewhere() -> None:
    near, far = Placed("a", "foot_l", "wheel"), Placed("b", "torso", "wheel")
    assert rules(near, far) == []
    assert rules(near, far, Placed("c", "head", "wheel")) == [("habits", ("b", "c"))]
    assert rules(Placed("c", "head", "wheel", pin="head")) == []
    assert judge_rules([far], ["b"], habits={"wheel": ()}) == ()


def _twins(left: float, right: float) -> list[tuple[str, tuple[str, ...]]]:
    return rules(
        Placed("a", "shank_l", drawn=box(0, 0, left, 1)),
        Placed("b", "shank_r", drawn=box(0, 0, right, 1)),
    )


def test_twins_are_unlike_beyond_half_of_what_they_wear() -> None:
    # 3 and 1: two of four in one paint have no answer.
    assert _twins(3, 1) == []
    assert _twins(3.1, 1) == [("twin limbs", ("a", "b"))]
    assert _twins(1, 3.1) == [("twin limbs", ("a", "b"))]
    # What has no drawing, or ends hidden, is worn by nobody.
    assert rules(Placed("a", "shank_l"), Placed("b", "shank_r")) == []
    hidden = Placed("a", "shank_l", drawn=box(0, 0, 9, 1), stowed=True, may_stow=True)
    assert rules(hidden) == []
    assert rules(replace(hidden, stowed=False)) == [("twin limbs", ("a",))]


@pytest.mark.parametrize(
    ("lamp", "panel", "is_kept"),
    [(2, 1, True), (1, 2, False), (1, 1, False), (0, 1, False)],
)
def test_what_sat_on_a_panel_ends_above_it(lamp: int, panel: int, *, is_kept: bool) -> None:
    under = Placed(
        "panel", "torso", drawn=box(0, 0, 9, 9), laid=box(0, 0, 9, 9), depth=panel
    )
    over = Placed("lamp", "torso", drawn=box(1, 1, 3, 3), laid=box(4, 4, 6, 6),
                  drawn_depth=1, depth=lamp)  # fmt: skip
    broken = [] if is_kept else [("what lies over what", ("lamp", "panel"))]
    assert rules(under, over) == broken
    assert rules(over, under) == broken
    assert rules(under, replace(over, stowed=True, may_stow=True)) == []
    assert rules(under, replace(over, drawn=None)) == []
    assert rules(under, replace(over, laid=None)) == []


def test_cover_is_asked_of_what_lies_on_the_region_in_sight() -> None:
    region = {"torso": box(0, 0, 10, 10)}

    def covered(*placed: Placed) -> list[str]:
        ids = [cover.piece for cover in placed]
        found = judge_rules(placed, ids, regions=region, wanted={"torso": 0.9})
        return [one.detail for one in found if one.rule == "wanted cover"]

    left = Placed("a", "torso", laid=box(0, 0, 6, 10))
    right = Placed("b", "torso", laid=box(4, 0, 12, 10))
    assert covered(left, right) == []
    assert covered(left) == ["torso is covered 60%, asked for 90%"]
    assert covered(left, replace(right, laid=None)) == [
        "torso is covered 60%, asked for 90%"
    ]
    assert covered() == ["torso is covered 0%, asked for 90%"]


def test_a_rule_is_told_with_its_pieces_and_what_they_do() -> None:
    (twice,) = judge_rules([Placed("a", "torso"), Placed("a", "head")], ["a"])
    assert twice.told == "each piece once: a: is placed 2 times"
    (gone,) = judge_rules([], ["a"])
    assert gone.told == "each piece once: a: is placed 0 times"
    (more,) = judge_rules([Placed("a", "torso")], [])
    assert more.told == "each piece once: a: is not in the drawing"
    (pin,) = judge_rules([Placed("a", "torso", pin="head")], ["a"])
    assert pin.told == "pins: a: covers torso, pinned to head"
    assert judge_rules([Placed("a", "head", pin="head", bans=("torso",))], ["a"]) == ()


@pytest.mark.parametrize(
    ("one", "other", "rule"),
    [
        ("foot_l", "foot_r", ""), ("foot_r", "foot_l", ""), ("torso", "torso", ""),
        ("foot_l", "foot_l", "mirror pairs"), ("torso", "head", "mirror pairs"),
    ],
)  # fmt: skip
def test_a_pair_answers_across_the_middle(one: str, other: str, rule: str) -> None:
    pair = [Placed("a", one, mirror="b"), Placed("b", other, mirror="a")]
    assert [name for name, _ in rules(*pair)] == ([rule] if rule else [])
    # A pair that does not answer is not asked for one size as well.
    large = [pair[0], replace(pair[1], scale=1.3)]
    assert [name for name, _ in rules(*large)] == [rule or "mirror sizes"]


def test_a_piece_of_which_nothing_is_told_lies_as_it_was_drawn() -> None:
    piece = Placed("hood", "torso")
    assert (piece.scale, piece.turn, piece.depth, piece.drawn_depth) == (1, 0, 0, 0)
    assert (piece.area, piece.stowed, piece.may_stow) == (0, False, False)
    assert (piece.pin, piece.bans, piece.mirror) == (None, (), None)
    assert replace(piece, drawn=box(0, 0, 3, 2)).area == 6


def test_only_a_side_makes_a_twin_of_a_region() -> None:
    names = ["arm_l", "upper_arm_r", "torso", "left_arm", "_l", "l"]
    assert [mirror_region(name) for name in names] == [
        "arm_r", "upper_arm_l", "torso", "left_arm", "_l", "l",
    ]  # fmt: skip
    assert [stem(name) for name in names] == [
        "arm", "upper_arm", "torso", "left_arm", "_l", "l",
    ]  # fmt: skip


def test_paints_are_compared_in_whole_steps_of_a_channel() -> None:
    def unlike(one_paint: int, paint: str) -> float:
        tile = box(0, 0, 1, 1)
        left = Placed("a", "foot_l", colour="#808080", drawn=tile)
        return mismatch(
            [left, Placed("b", "foot_r", colour=paint, drawn=tile)], one_paint=one_paint
        )

    assert unlike(32, "#9f9f9f") == 0
    assert unlike(32, "#a08080") == unlike(32, "#7f8080") == 2
    assert unlike(0, "#808080") == 0  # no step at all is a step of one
    assert unlike(0, "#808180") == unlike(1, "#808180") == 2
