"""The judge reads a shot that plays back, or opens one limb, by the same promises."""

from __future__ import annotations

import json
from dataclasses import replace

from shapely import box

from panelbeater.scores import Scores, Shot, parse_frames, score_shot
from panelbeater.scores.result import Promise
from panelbeater.scores.shot import same_ends
from tests.scores.shots import Scene, still_scene


def _backwards(shot: Shot) -> Shot:
    frames = tuple(
        replace(frame, frame=float(k)) for k, frame in enumerate(reversed(shot.frames))
    )
    return replace(shot, frames=frames, reverse=True)


def _promise(scores: Scores, name: str) -> Promise:
    return next(promise for promise in scores.promises if promise.name == name)


def _said(scene: Scene, **more: object) -> Shot:
    """The scene with more in the header line of its file."""
    header, *rows = scene.lines()
    return parse_frames([json.dumps({**json.loads(header), **more}), *rows])


def test_a_shot_that_plays_back_is_judged_at_its_last_frame_for_the_vehicle() -> None:
    scene = still_scene()
    scene.inputs["hood"] = box(0, 0, 40, 40)
    scene.shift("hood", 0, 0.0, 2.0)
    there = _promise(score_shot(scene.shot()), "vehicle error")
    back = _promise(score_shot(_backwards(scene.shot())), "vehicle error")
    assert there.value == back.value > 0
    assert [b.frames for b in there.broken] == [(0.0,)]
    assert [b.frames for b in back.broken] == [(7.0,)]


def test_what_floats_is_told_at_the_frame_it_is_seen_in() -> None:
    scene = still_scene()
    scene.shift("wheel", 2, 300.0, -200.0)
    scene.shift("wheel", 3, 300.0, -200.0)
    there = _promise(score_shot(scene.shot()), "float")
    back = _promise(score_shot(_backwards(scene.shot())), "float")
    assert there.broken[0].frames == (2.0, 3.0)
    assert back.broken[0].frames == (4.0, 5.0)


def test_scores_by_frame_follow_the_shot_as_it_plays() -> None:
    scene = still_scene()
    scene.shift("wheel", 2, 3.0, 0.0)
    there, back = score_shot(scene.shot()), score_shot(_backwards(scene.shot()))
    shown = {score.name: score.series for score in back.motion}
    series = [score for score in there.motion if score.series and any(score.series)]
    assert series
    for score in series:
        assert score.series is not None
        assert shown[score.name] == score.series[::-1]
        assert score.series != score.series[::-1]


def test_both_ends_of_a_shot_tell_whether_its_layout_is_the_same() -> None:
    scene = still_scene()
    shot = scene.shot()
    scene.shift("wheel", 3, 1.0, 0.0)
    assert same_ends(shot, scene.shot())
    assert not same_ends(shot, _backwards(scene.shot()))
    for frame in (0, 7):
        other = still_scene()
        other.shift("wheel", frame, 1.0, 0.0)
        assert not same_ends(shot, other.shot())
    larger = still_scene()
    larger.regions["head"] = box(0, 0, 9, 9)
    assert not same_ends(shot, larger.shot())


def test_the_last_thing_seen_must_be_held_longest() -> None:
    shot = still_scene(40).shot()
    wanted = {}
    for name, way in (("there", shot), ("back", _backwards(shot))):
        for score in score_shot(way).motion:
            if score.name.startswith("hold of") and score.target:
                wanted[name, score.name] = score.target.low
    assert wanted["there", "hold of the robot"] == wanted["back", "hold of the vehicle"]
    assert wanted["there", "hold of the vehicle"] == wanted["back", "hold of the robot"]
    assert wanted["there", "hold of the robot"] != wanted["there", "hold of the vehicle"]


def test_a_piece_of_a_shut_limb_has_landed_where_it_was_drawn_and_nowhere_else() -> None:
    # Only the foot opens: of the torso's two pieces one is left behind, one is moved away.
    scene = still_scene()
    scene.regions = {"foot_l": scene.regions["foot_l"]}
    kept = _promise(score_shot(_said(scene, only=["leg_l"])), "landing")
    assert kept.kept
    for frame in (6, 7):
        scene.shift("door", frame, 1.0, 0.0)
    broken = _promise(score_shot(_said(scene, only=["leg_l"])), "landing")
    assert [b.pieces for b in broken.broken] == [("door",)]
    # The rule is for partial shots: without it, hood and door have no region to land on.
    assert len(_promise(score_shot(_said(scene)), "landing").broken) == 2
