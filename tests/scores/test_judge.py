"""What the judge lays out, takes over from before, and tells the certificate."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from shapely import Polygon, box
from shapely.affinity import translate

from panelbeater.scores import (
    Promise,
    Score,
    Scores,
    Shot,
    Target,
    parse_frames,
    score_shot,
)
from panelbeater.scores.between import Allowed, Stance
from panelbeater.scores.limits import STANDARD
from panelbeater.scores.result import Between, Break
from panelbeater.scores.shot import same_ends
from panelbeater.scores.tracks import lay_out
from panelbeater.terms.arrays import Flags, Floats, Ints
from panelbeater.terms.drawing import Shape
from tests.scores.shots import Look, Scene, still_scene


@dataclass(frozen=True)
class Shown:
    """A motion that shows just the frames of a shot, or pieces `off` to the right."""

    shot: Shot
    off: float = 0.0
    n_more: int = 0

    def shapes(self, _: Floats, frames: Ints) -> list[list[Shape]]:
        rows = [self.shot.frames[k] for k in frames.tolist()]
        return [
            [*(translate(piece.outline, self.off) for piece in row.pieces),
             *(bone.outline for bone in row.bones)]
            for row in rows
        ]  # fmt: skip

    def visible(self) -> Flags:
        shape = (len(self.shot.frames) + self.n_more, len(self.shot.pieces))
        return np.ones(shape, dtype=np.bool_)

    def depth(self) -> Ints:
        return np.zeros(self.visible().shape, dtype=np.int64)

    def travel(self, start: Floats, _: Floats) -> Floats:
        n_shapes = len(self.shot.pieces) + len(self.shot.frames[0].bones)
        return np.zeros((len(start), n_shapes, 1))


def _told(scene: Scene, monkeypatch: pytest.MonkeyPatch, **motion: Any) -> list[Any]:
    """What the certificate is asked for, if it is."""
    asked: list[Any] = []

    def certify(*what: object) -> Between:
        asked.extend(what[1:])
        return Between(0, (), ())

    monkeypatch.setattr("panelbeater.scores.judge.certify", certify)
    shot = scene.shot()
    scores = score_shot(shot, between=Shown(shot, **motion))
    assert (scores.between is not None) is bool(asked)
    return asked


def test_the_certificate_is_told_the_limits_in_drawing_units(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # H is 100 and D squared 40^2 + 100^2; the foot lands in frame 2 and lifts after 5.
    scene = still_scene(8)
    foot = scene.bones["foot_l"][0]
    steps = [(0, 0), (5, -20), *[(6, 0)] * 4, (7, -9), (8, -9)]
    scene.bones["foot_l"] = [translate(foot, x, y) for x, y in steps]
    pieces, bones, allowed, stances = _told(scene, monkeypatch)
    assert pieces == ("hood", "door", "wheel")
    assert bones == ["torso", "foot_l"]
    assert stances == [Stance(1, 2, 5)]
    wanted = Allowed(
        body_contact=0.5, piece_contact=0.05, floor=100.2, clash_area=0.0116, pop=1e-4,
        slide=0.5, sole=1.0,
    )  # fmt: skip
    for name in wanted.__slots__:
        assert getattr(allowed, name) == pytest.approx(getattr(wanted, name)), name


@pytest.mark.parametrize(
    ("motion", "is_asked"),
    # To rounding, 1e-7 of H: 1e-5.
    [({}, True), ({"off": 9e-6}, True), ({"off": 1.1e-5}, False), ({"n_more": 1}, False)],
)
def test_only_the_motion_of_the_very_frames_is_certified(
    motion: dict[str, Any], monkeypatch: pytest.MonkeyPatch, *, is_asked: bool
) -> None:
    assert bool(_told(still_scene(), monkeypatch, **motion)) is is_asked


def _with(frame: int, **what: object) -> Shot:
    scene = still_scene()
    scene.change("door", frame, **what)
    return scene.shot()


@pytest.mark.parametrize(
    "what",
    [
        {"depth": 7}, {"scale": 0.9}, {"visible": False}, {"region": "head"},
        {"bone": "foot_l"}, {"outline": box(0, 40, 40, 71)},
    ],
)  # fmt: skip
@pytest.mark.parametrize("frame", [0, 1, 6, 7])
def test_two_shots_end_alike_when_both_end_frames_are_the_same(
    what: dict[str, object], frame: int
) -> None:
    changed = _with(frame, **what)
    inner = frame in (1, 6)
    if not inner and "outline" in what:
        # The drawing that was handed in stays as it was.
        scene = still_scene()
        scene.inputs = {"door": box(0, 40, 40, 70)}
        scene.change("door", frame, **what)
        changed = scene.shot()
    assert same_ends(still_scene().shot(), changed) is inner


@pytest.mark.parametrize(
    ("off", "is_same"),
    # A ten-millionth of H = 100, wherever the figure stands.
    [(9e-6, True), (1.1e-5, False)],
)
def test_ends_are_alike_to_rounding(off: float, *, is_same: bool) -> None:
    shots = []
    for more in (0.0, off):
        scene = still_scene()
        scene.figure = box(0, 900, 40, 1000)
        scene.inputs = {"door": box(0, 40, 40, 70)}
        scene.change("door", 7, outline=box(0, 40, 40, 70 + more), scale=1 + more / 100)
        shots.append(scene.shot())
    assert same_ends(*shots) is is_same


@pytest.mark.parametrize(
    "change",
    [
        {"kinds": {"door": "lamp"}}, {"mirrors": {"door": "hood"}},
        {"signature": ("door",)},
        {"controllers": {}}, {"vehicle": box(0, 0, 40, 101)}, {"figure": box(0, 0, 40, 99)},
        {"regions": {"torso": box(0, 0, 40, 60)}},
    ],
)  # fmt: skip
def test_shots_of_other_things_do_not_end_alike(change: dict[str, Any]) -> None:
    scene = still_scene()
    for name, value in change.items():
        setattr(scene, name, value)
    assert not same_ends(still_scene().shot(), scene.shot())
    assert same_ends(scene.shot(), scene.shot())


def test_an_earlier_layout_is_taken_over_where_the_ends_are_the_same() -> None:
    shot = still_scene().shot()
    marked = replace(score_shot(shot), layout=(Score("taken over", 1.0, ""),))
    taken = score_shot(_with(3, depth=7), earlier=(shot, marked))
    assert taken.layout == marked.layout
    fresh = score_shot(_with(7, depth=7), earlier=(shot, marked))
    assert fresh.layout == score_shot(_with(7, depth=7)).layout
    assert fresh.layout != marked.layout


def test_stills_have_no_motion() -> None:
    shot = still_scene().shot()
    assert score_shot(shot, stills=True).motion == ()
    assert score_shot(shot, stills=True).layout == score_shot(shot).layout
    assert score_shot(shot).motion


@pytest.mark.parametrize(
    ("what", "frame"),
    [("visible", 4), ("depth", 4), ("outline", 4), ("bone", 4), ("depth", 1), ("bone", 7)],
)
def test_a_frame_repeats_what_shows_the_same_as_the_one_before(
    what: str, frame: int
) -> None:
    scene = still_scene()
    if what == "bone":
        scene.bones["foot_l"][frame] = box(11, 60, 30, 100)
    else:
        other = {"visible": False, "depth": 7, "outline": box(0, 40, 40, 71)}[what]
        scene.change("door", frame, **{what: other})
    repeats = lay_out(scene.shot(), STANDARD).repeats
    assert set(np.flatnonzero(~repeats).tolist()) == {0, frame, frame + 1} - {8}


def test_a_piece_that_is_not_listed_is_laid_out_as_nothing() -> None:
    scene = still_scene()
    scene.absent = {("door", 3)}
    scene.change("door", 5, depth=7, scale=0.9, visible=False, bone="foot_l")
    tracks = lay_out(scene.shot(), STANDARD)
    door = tracks.piece_ids.index("door")
    assert tracks.bone_ids == ("foot_l", "torso")
    assert tracks.bone_of[[0, 3, 5], door].tolist() == [1, -1, 0]
    assert tracks.present[[0, 3, 5], door].tolist() == [True, False, True]
    assert tracks.visible[[0, 3, 5], door].tolist() == [True, False, False]
    assert tracks.depth[[0, 3, 5], door].tolist() == [1, 0, 7]
    assert tracks.scale[[0, 3, 5], door].tolist() == [1, 1, 0.9]
    assert tracks.area[[0, 3], door].tolist() == [1200, 0]
    assert tracks.centroid[[0, 3], door].tolist() == [[20, 55], [0, 0]]
    assert tracks.allowance[door].tolist() == [0.7, 1.4, 0.55]


def test_a_stage_is_measured_wherever_it_lies() -> None:
    scene = still_scene()
    scene.figure, scene.vehicle = box(300, 500, 340, 600), box(290, 520, 340, 600)
    tracks = lay_out(scene.shot(), STANDARD)
    assert tracks.height == 100
    assert tracks.diagonal == pytest.approx(np.hypot(50, 100))
    assert tracks.width == pytest.approx(1.2 * 100 * 16 / 9)


@pytest.mark.parametrize(
    ("value", "target", "met"),
    [
        (6.0, Target(low=6.0), True), (5.9, Target(low=6.0), False),
        (1.02, Target(1.02, 1.6), True), (1.6, Target(1.02, 1.6), True),
        (1.61, Target(1.02, 1.6), False), (-1e9, Target(high=4.0), True),
        (1e9, Target(low=4.0), True), (-1e9, Target(), True),
    ],
)  # fmt: skip
def test_a_value_on_the_edge_of_a_target_meets_it(
    value: float, target: Target, *, met: bool
) -> None:
    assert Score("x", value, "", target).on_target is met
    assert (target.miss(value) == 0) is met


def test_a_promise_is_kept_by_its_value_and_by_every_place() -> None:
    assert Promise("leak", 0.001, 0.001).kept
    assert not Promise("leak", 0.0011, 0.001).kept
    assert not Promise("leak", 0.001, 0.001, (Break((0.0,), ("hood",), "leaks"),)).kept
    endless = Scores((), (Score("x", math.inf, ""),), ())
    with pytest.raises(ValueError, match="finite"):
        endless.to_json()


def test_a_piece_is_drawn_as_the_frame_says() -> None:
    lines = still_scene().lines()
    header = json.loads(lines[0])
    header["pieces"][1]["redrawn"] = "POLYGON ((0 0, 20 0, 20 30, 0 30, 0 0))"
    row = json.loads(lines[4])
    row["pieces"][1].update(redrawn=True, wkt="POLYGON ((0 40, 20 40, 20 70, 0 70, 0 40))")
    lines[0], lines[4] = json.dumps(header), json.dumps(row)
    tracks = lay_out(parse_frames(lines), STANDARD)
    assert tracks.own_area[:, 1].tolist() == [*[1200] * 3, 600, *[1200] * 4]
    assert tracks.measured_scale[:, 1].tolist() == [1] * 8


def test_scores_of_a_shot_without_figures_are_none() -> None:
    scene = still_scene()
    scene.looks = {"hood": [Look(box(0, 0, 40, 40), visible=False)] * 8}
    scene.bones = {"torso": [Polygon()] * 8}
    scores = score_shot(scene.shot())
    assert not scores.kept
    assert {score.name for score in scores.layout} >= {"coverage", "spill", "overlap"}
    assert all(score.value == 0 for score in scores.layout if score.name == "spill")
