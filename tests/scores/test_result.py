"""The verdict as JSON and as words."""

from __future__ import annotations

import json
import math

import pytest

from panelbeater.scores import Score, Scores, Target, score_shot
from panelbeater.scores.words import frames_in_words, same_frames
from tests.scores.shots import still_scene


def test_the_verdict_is_plain_json_and_the_same_every_time() -> None:
    texts = [
        json.dumps(score_shot(still_scene().shot()).to_json(), allow_nan=False)
        for _ in range(2)
    ]
    assert texts[0] == texts[1]
    read = json.loads(texts[0])
    assert list(read) == ["kept", "promises", "layout", "motion"]
    assert read["promises"][0] == {
        "name": "vehicle error", "value": 0, "limit": 1e-6, "kept": True, "broken": [],
    }  # fmt: skip


def test_every_series_has_one_value_a_frame() -> None:
    scores = score_shot(still_scene(9).shot())
    lengths = {len(score.series) for score in scores.motion if score.series is not None}
    assert lengths == {9}


def test_a_score_that_is_not_finite_is_our_own_mistake() -> None:
    with pytest.raises(ValueError, match="finite"):
        Scores((), (Score("x", math.nan, ""),), ()).to_json()


@pytest.mark.parametrize(
    ("value", "target", "met"),
    [
        (4.0, Target(high=4.0), True),
        (4.1, Target(high=4.0), False),
        (1.0, Target(1.02, 1.6), False),
        (0.7, None, True),
    ],
)
def test_a_target_has_two_sides(value: float, target: Target | None, *, met: bool) -> None:
    assert Score("x", value, "", target).on_target is met


@pytest.mark.parametrize(
    ("score", "words"),
    [
        (Score("step", 0.5, "", Target(high=0.5)), "step: 0.5 (wanted at most 0.5)"),
        (Score("hold", 3, "", Target(low=6)), "hold: 3 (wanted at least 6: missed)"),
        (Score("arc", 2.0, "", Target(1.0, 1.5), note="lamp"),
         "arc: 2 (wanted at least 1 and at most 1.5: missed); lamp"),
        (Score("spill", 0.1, "share"), "spill: 0.1 share"),
    ],
)  # fmt: skip
def test_a_score_is_told_beside_what_was_wanted(score: Score, words: str) -> None:
    assert Scores((), (score,), ()).lines()[-1] == words


@pytest.mark.parametrize(
    ("value", "target", "miss", "edge"),
    [
        (4.0, Target(high=4.0), 0.0, 4.0),
        (4.5, Target(high=4.0), 0.5, 4.0),
        (1.0, Target(low=3.0), 2.0, 3.0),
        (1.0, Target(2.0, 4.0), 1.0, 4.0),
        (9.0, Target(), 0.0, 0.0),
    ],
)
def test_a_miss_is_how_far_a_value_lies_outside(
    value: float, target: Target, miss: float, edge: float
) -> None:
    assert target.miss(value) == miss
    assert target.edge == edge


@pytest.mark.parametrize(
    ("frames", "words"),
    [
        ([], ""),
        ([4], "frame 5"),
        ([11, 12, 13, 14, 15, 16], "frames 12-17"),
        ([0, 2, 3], "frames 1, 3-4"),
        ([2, 2.5, 3], "frames 3-4"),
        ([2.5], "frame 3.5"),
    ],
)
def test_frames_are_told_from_one_and_in_runs(frames: list[float], words: str) -> None:
    assert frames_in_words(frames) == words


def test_pieces_that_fail_together_are_told_together() -> None:
    hits = {"roof": [3.0], "door": [1.0, 2.0], "hood": [1.0, 2.0], "lamp": []}
    assert same_frames(hits) == [((1.0, 2.0), ("door", "hood")), ((3.0,), ("roof",))]
