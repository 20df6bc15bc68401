"""Feet and the ground line: H is 100, so that 0.002 H is 0.2 and 0.005 H is 0.5."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Polygon, box
from shapely.affinity import translate

from panelbeater.scores.limits import STANDARD
from panelbeater.scores.promises import stances
from panelbeater.scores.promises.ground import planted_slide
from panelbeater.scores.tracks import lay_out
from tests.scores.shots import Scene, still_scene
from tests.scores.test_edges_by_hand import promise


def stepping(*at: tuple[float, float]) -> Scene:
    """The still shot with a foot that is moved by so much, x and y, in each frame."""
    scene = still_scene(len(at))
    foot = scene.bones["foot_l"][0]
    scene.bones["foot_l"] = [translate(foot, x, y) for x, y in at]
    return scene


@pytest.mark.parametrize("name", ["wheel", "bone foot_l"])
@pytest.mark.parametrize(("low", "n_hits"), [(100.2, 0), (100.21, 1)])
def test_a_thing_may_reach_below_the_ground_by_a_five_hundredth(
    name: str, low: float, n_hits: int
) -> None:
    scene = still_scene()
    deep = box(10, 70, 30, low)
    if name == "wheel":
        scene.change("wheel", 3, outline=deep)
    else:
        scene.bones["foot_l"][3] = deep
    found = promise(scene, "ground")
    assert found.value == n_hits
    assert [(place.frames, place.pieces) for place in found.broken] == [
        ((3.0,), (name,))
    ] * n_hits  # fmt: skip


def test_sinking_and_sliding_are_counted_together() -> None:
    scene = stepping((0, 0), (5, -20), (6, 0), (6, 0), (6, 0), (9, 0), (9, 0), (9, 0))
    assert promise(scene, "ground").value == 3
    scene.shift("wheel", 3, 0, 5)
    scene.shift("wheel", 4, 0, 5)
    assert promise(scene, "ground").value == 5
    scene.change("wheel", 4, visible=False)
    assert promise(scene, "ground").value == 4


@pytest.mark.parametrize(("strayed", "n_hits"), [(0.5, 0), (0.51, 3)])
def test_a_planted_foot_may_stray_by_half_a_percent(strayed: float, n_hits: int) -> None:
    end = (6 + strayed, 0)
    scene = stepping((0, 0), (5, -20), (6, 0), (6, 0), (6, 0), end, end, end)
    assert promise(scene, "ground").value == n_hits


def test_a_foot_that_creeps_by_less_than_a_thousandth_a_frame_is_planted() -> None:
    # 0.001 H is 0.1 a frame, so a foot at 0.09 rests; six frames on it has slid 0.54.
    creeping = [(6 + 0.09 * k, 0.0) for k in range(8)]
    scene = stepping((0, 0), (5, -20), *creeping)
    assert [list(b.frames) for b in promise(scene, "ground").broken] == [[8.0, 9.0]]


def test_a_stance_is_told_by_the_frames_the_foot_stands_in() -> None:
    there = [(6, 0)] * 4
    scene = stepping((0, 0), (5, -20), *there, (8, -9), *[(9, 0)] * 3)
    tracks = lay_out(scene.shot(), STANDARD)
    assert stances(tracks) == (("foot_l", 2, 5), ("foot_l", 7, 9))
    # A foot that never moved is not planted, and a bone that is no foot is none.
    assert stances(lay_out(stepping(*[(0, 0)] * 6).shot(), STANDARD)) == ()
    scene.bones["hand_l"] = scene.bones.pop("foot_l")
    for name in scene.looks:
        for frame in range(10):
            scene.change(name, frame, bone="torso")
    assert stances(lay_out(scene.shot(), STANDARD)) == ()


def _planted(*feet: Polygon) -> tuple[list[float], list[int]]:
    shapes = np.empty(len(feet), dtype=object)
    shapes[:] = feet
    slide, stance = planted_slide(shapes, 0.0, contact=1.0, rest=0.125)
    return slide.tolist(), stance.tolist()


def _at(*places: tuple[float, float]) -> tuple[list[float], list[int]]:
    """A foot 10 wide, by x of its middle and height over the ground."""
    return _planted(*(box(x - 5, -h - 4, x + 5, -h) for x, h in places))


def test_a_step_of_just_what_a_resting_foot_may_is_rest() -> None:
    slow = [(0.125 * k, 0.0) for k in range(6)]
    assert _at(*slow)[1] == [0] * 6  # has not moved yet
    assert _at((-1, 0), *slow)[1] == [0, *[1] * 6]
    quick = [(0.1875 * k, 0.0) for k in range(6)]
    assert _at((-1, 0), *quick)[1] == [0] * 7


def test_a_foot_is_planted_only_with_contact_in_both_frames_it_rests_through() -> None:
    moved = (-3.0, 5.0)
    assert _at(moved, (0, 1), (0, 1), (0, 1))[1] == [0, 1, 1, 1]
    assert _at(moved, (0, 0.9375), (0, 1.0625), (0, 1.0625))[1] == [0] * 4
    assert _at(moved, (0, 0.9375), (0, 0.9375), (0, 1.0625))[1] == [0] * 4
    # Quiet for two steps, but one of them before it touches.
    assert _at(moved, (0, 1.0625), (0, 0.9375), (0, 0.9375))[1] == [0] * 4
    # Quiet for one step only, the first or the second.
    assert _at(moved, (0, 0), (0, 0), (1, 0), (1, 0))[1] == [0] * 5
    assert _at(moved, (0, 0), (1, 0), (1, 0), (2, 0))[1] == [0] * 5


def test_the_sole_is_what_of_the_foot_is_within_contact_of_its_lowest_point() -> None:
    flat = Polygon([(-5, -4), (5, -4), (5, 0), (-5, 0)])
    # On its toe: from (-5, -4) down to (3, 0), so 1.0 above the ground it begins at x = 1.
    toe = Polygon([(-5, -4), (5, -4), (5, 0), (3, 0)])
    slide, stance = _planted(translate(flat, -9), flat, flat, flat, toe)
    assert stance == [0, 1, 1, 1, 1]
    assert slide == pytest.approx([0, 0, 0, 0, (1 + 5) / 2])


def test_a_foot_that_is_not_there_is_free() -> None:
    foot = box(-5, -4, 5, 0)
    slide, stance = _planted(translate(foot, -9), foot, foot, foot, Polygon(), foot)
    assert (slide, stance) == ([0] * 6, [0, 1, 1, 1, 0, 0])


def test_the_worst_place_below_ground_is_the_lowest_corner() -> None:
    scene = still_scene()
    scene.change("wheel", 3, outline=Polygon([(0, 70), (40, 70), (31, 107), (9, 104)]))
    (place,) = promise(scene, "ground").broken
    assert place.worst is not None
    assert (place.worst.x, place.worst.y, place.worst.depth) == (31, 107, 7)
