"""Shots at the edge of what a frames file may hold are still judged, without a crash."""

from __future__ import annotations

import json

import pytest
from shapely import MultiPolygon, Point, Polygon, box

from panelbeater.scores import score_shot
from tests.scores.shots import Look, Scene, still_scene


def judged(scene: Scene) -> dict[str, bool]:
    scores = score_shot(scene.shot())
    json.dumps(scores.to_json(), allow_nan=False)
    return {promise.name: promise.kept for promise in scores.promises}


@pytest.mark.parametrize("n_frames", [1, 2, 3])
def test_a_very_short_shot_is_judged(n_frames: int) -> None:
    assert all(judged(still_scene(n_frames)).values())


def test_a_piece_hidden_as_an_empty_outline_is_judged() -> None:
    scene = still_scene()
    for frame in (2, 3):
        scene.change("door", frame, outline=Polygon(), visible=False)
    assert all(judged(scene).values())


def test_a_piece_that_leaves_the_file_is_missing() -> None:
    scene = still_scene()
    scene.absent |= {("door", 5), ("door", 6), ("door", 7)}
    assert [name for name, kept in judged(scene).items() if not kept] == [
        "missing pieces", "landing",
    ]  # fmt: skip


def test_a_shot_with_nothing_to_see_is_judged() -> None:
    scene = still_scene()
    for name in scene.looks:
        for frame in range(8):
            scene.change(name, frame, visible=False)
    assert not judged(scene)["missing pieces"]


def test_an_outline_that_touches_itself_is_put_in_order() -> None:
    scene = still_scene()
    # Two squares that meet in one corner, as one ring and as two parts: the same outline.
    loop = Polygon(
        [(0, 0), (20, 0), (20, 20), (40, 20), (40, 40), (20, 40), (20, 20), (0, 20)]
    )
    pair = MultiPolygon([box(0, 0, 20, 20), box(20, 20, 40, 40)])
    scene.looks["hood"] = [Look(loop)] * 8
    scene.inputs["hood"] = pair
    assert all(judged(scene).values())


def test_a_piece_with_a_hole_hides_nothing_through_it() -> None:
    scene = still_scene()
    outer, inner = (Point(20, 55).buffer(radius) for radius in (15, 10))
    ring = Polygon(outer.exterior, [inner.exterior])
    scene.looks["door"] = [Look(ring, depth=1)] * 8
    scores = {score.name: score.value for score in score_shot(scene.shot()).layout}
    assert scores["overlap"] == pytest.approx(0.0, abs=1e-9)
