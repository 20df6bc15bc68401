"""The judge sees in the frames whether a piece went round what it was asked to."""

from __future__ import annotations

from dataclasses import replace

from panelbeater.scores import RuleBreak, judge_clear
from tests.scores.shots import Look, Scene, moving_scene, still_scene

ACROSS = [(x, 100.0) for x in (100.0, 120.0, 140.0, 160.0, 180.0)]
THERE = [(140.0, 100.0)] * 5
"""Ten wide: overlapped in the third frame alone."""


def _judged(scene: Scene, **wanted: tuple[str, ...]) -> tuple[RuleBreak, ...]:
    half = moving_scene({"a": [(0.0, 0.0)], "b": [(50.0, 0.0)]})
    half.first = 0.5
    return judge_clear(scene.shot(), half.shot(), wanted)


def test_a_piece_that_passes_over_another_is_told_with_the_frame() -> None:
    (told,) = _judged(moving_scene({"a": ACROSS, "b": THERE}), a=("b",))
    assert told.pieces == ("a", "b")
    assert not told.must
    assert told.told.startswith("keeps clear: a, b: frame 3: no way round")


def test_a_piece_that_goes_round_is_not_told() -> None:
    over = [(x, y - 10 * (x == 140)) for x, y in ACROSS]  # edge on edge
    scene = moving_scene({"a": over, "b": THERE})
    assert _judged(scene, a=("b",)) == ()
    nearly = [(x, y - 9.7 * (x == 140)) for x, y in ACROSS]
    assert len(_judged(moving_scene({"a": nearly, "b": THERE}), a=("b",))) == 1


def test_a_half_frame_counts() -> None:
    jumps = [(100.0, 100.0), (180.0, 100.0)]
    scene = moving_scene({"a": jumps, "b": THERE[:2]})
    half = moving_scene({"a": THERE[:1], "b": THERE[:1]})
    half.first = 0.5
    (told,) = judge_clear(scene.shot(), half.shot(), {"a": ["b"]})
    assert "frame 1.5" in told.detail


def test_both_ends_of_the_shot_may_overlap_until_the_two_part() -> None:
    ends = [(140.0, 100.0), (141.0, 100.0), (180.0, 100.0), (141.0, 100.0), (140.0, 100.0)]
    half = moving_scene({"a": THERE[:1], "b": THERE[:1]})
    half.first = 0.5
    parting = moving_scene({"a": ends, "b": THERE})
    assert judge_clear(parting.shot(), half.shot(), {"a": ["b"]}) == ()
    always = moving_scene({"a": THERE, "b": THERE})
    (told,) = judge_clear(always.shot(), half.shot(), {"a": ["b"]})
    assert told.detail.startswith("overlap in every frame")


def test_limbs_are_named_by_controller_or_bone_and_what_is_hidden_is_nowhere() -> None:
    scene = still_scene(3)
    far = Look(scene.looks["hood"][0].outline)
    away = replace(far, outline=scene.looks["wheel"][0].outline)
    scene.looks["hood"] = [far, away, far]
    half = still_scene(1)
    half.first = 0.5
    for name in ("leg_l", "foot_l"):
        (told,) = judge_clear(scene.shot(), half.shot(), {"hood": [name]})
        assert told.pieces == ("hood", name)
    scene.change("hood", 1, visible=False)
    assert judge_clear(scene.shot(), half.shot(), {"hood": ["leg_l"]}) == ()
