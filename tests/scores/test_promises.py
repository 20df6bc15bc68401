"""Tiny shots that break exactly one promise each, and the judge's words about them."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from shapely import Point, box
from shapely.affinity import scale, translate

from panelbeater.scores import Promise, score_shot
from tests.scores.shots import Look, Scene, still_scene


def broken_promises(scene: Scene, half: Scene | None = None) -> dict[str, Promise]:
    scores = score_shot(scene.shot(), half_frames=half.shot() if half else None)
    return {promise.name: promise for promise in scores.promises if not promise.kept}


def half_scene() -> Scene:
    scene = still_scene(7)
    scene.first = 0.5
    return scene


def test_a_still_shot_keeps_every_promise() -> None:
    scores = score_shot(still_scene().shot(), half_frames=half_scene().shot())
    assert scores.kept
    assert [promise.name for promise in scores.promises] == [
        "vehicle error", "missing pieces", "leak", "float", "clash", "pop", "landing",
        "budget", "ground",
    ]  # fmt: skip
    assert all(promise.value == 0 for promise in scores.promises)


def plant_float(scene: Scene) -> None:
    for frame in (2, 3):
        scene.shift("door", frame, 100, 0)


def plant_clash(scene: Scene) -> None:
    # Ten units of overlap, 40 wide: 400 against 1e-6 D^2 = 0.0116.
    scene.shift("door", 4, 0, -10)
    scene.change("door", 4, depth=0)


def plant_pop(scene: Scene) -> None:
    for frame in (3, 4):
        scene.shift("door", frame, 0, -10)
    for frame in (4, 5):
        scene.change("hood", frame, depth=1)
        scene.change("door", frame, depth=0)


def plant_below_ground(scene: Scene) -> None:
    scene.shift("wheel", 3, 0, 5)


def plant_missing(scene: Scene) -> None:
    scene.absent.add(("wheel", 0))


def plant_vehicle_error(scene: Scene) -> None:
    scene.inputs["hood"] = box(0, 0, 40, 40)
    scene.change("hood", 0, outline=box(0, 0, 40, 39))


def plant_small_piece(scene: Scene) -> None:
    small = scale(scene.looks["hood"][3].outline, 0.5, 0.5)
    scene.change("hood", 3, outline=small, scale=0.5)


def plant_small_piece_stated_whole(scene: Scene) -> None:
    scene.change("hood", 3, outline=scale(scene.looks["hood"][3].outline, 0.5, 0.5))


def plant_slide(scene: Scene) -> None:
    foot = scene.bones["foot_l"][0]
    steps = [(0, 0), (5, -20), (6, 0), (6, 0), (6, 0), (9, 0), (9, 0), (9, 0)]
    scene.bones["foot_l"] = [translate(foot, x, y) for x, y in steps]


def plant_leak(scene: Scene) -> None:
    # 10 x 59 of the torso outside; the body is 20 x 98.
    scene.bones["torso"][0] = box(-10, 2, 10, 61)


def plant_wrong_bone(scene: Scene) -> None:
    scene.change("wheel", 7, bone="torso")


def plant_late_arrival(scene: Scene) -> None:
    scene.shift("door", 6, 1, 0)


@pytest.mark.parametrize(
    ("plant", "name", "pieces", "frames"),
    [
        (plant_float, "float", ("door",), (2.0, 3.0)),
        (plant_clash, "clash", ("door", "hood"), (4.0,)),
        (plant_pop, "pop", ("hood", "door"), (3.0, 4.0)),
        (plant_below_ground, "ground", ("wheel",), (3.0,)),
        (plant_missing, "missing pieces", ("wheel",), (0.0,)),
        (plant_vehicle_error, "vehicle error", ("hood",), (0.0,)),
        (plant_small_piece, "budget", ("hood",), (3.0,)),
        (plant_small_piece_stated_whole, "budget", ("hood",), (3.0,)),
        (plant_slide, "ground", ("bone foot_l",), (5.0, 6.0, 7.0)),
        (plant_leak, "leak", ("bone torso",), (0.0,)),
        (plant_wrong_bone, "landing", ("wheel",), (7.0,)),
        (plant_late_arrival, "landing", ("door",), (7.0,)),
    ],
)
def test_a_planted_break_is_the_only_one_reported(
    plant: Callable[[Scene], None],
    name: str,
    pieces: tuple[str, ...],
    frames: tuple[float, ...],
) -> None:
    scene = still_scene()
    plant(scene)
    broken = broken_promises(scene)
    assert list(broken) == [name]
    (place,) = broken[name].broken
    assert set(place.pieces) == set(pieces)
    assert place.frames == frames


def test_promises_are_held_to_the_figures_of_the_metrics() -> None:
    limits = {
        promise.name: promise.limit for promise in score_shot(still_scene().shot()).promises
    }
    assert limits == {
        "vehicle error": 1e-6, "missing pieces": 0, "leak": 0.001, "float": 0, "clash": 0,
        "pop": 0, "landing": 0, "budget": 0, "ground": 0,
    }  # fmt: skip


@pytest.mark.parametrize("frame", [1, 7])
def test_a_pop_is_seen_from_the_first_step_to_the_last(frame: int) -> None:
    scene = still_scene()
    for at in range(8):
        depth = 0 if at < frame else 5
        scene.change("hood", at, outline=box(0, 0, 40, 50), depth=depth)
    broken = broken_promises(scene)
    assert list(broken) == ["pop"]
    assert broken["pop"].broken[0].frames == (frame - 1.0, float(frame))


def test_a_float_counts_every_piece_and_frame() -> None:
    scene = still_scene()
    plant_float(scene)
    assert broken_promises(scene)["float"].value == 2


def test_a_piece_held_by_a_neighbour_does_not_float() -> None:
    scene = still_scene()
    # The wheel rides nothing it touches, but the door next to it lies on the torso.
    scene.bones["foot_l"][3] = box(100, 60, 120, 100)
    assert "float" not in broken_promises(scene)
    scene.shift("wheel", 3, 0, -0.04)  # within 0.0005 H = 0.05 it still touches
    assert "float" not in broken_promises(scene)


@pytest.mark.parametrize(("gap", "floats"), [(0.49, False), (0.51, True)])
def test_a_piece_may_stand_half_a_percent_of_the_height_off_the_body(
    gap: float, *, floats: bool
) -> None:
    scene = still_scene()
    scene.shift("hood", 3, 30 + gap, -1)  # alone, right of the torso, which ends at x = 30
    assert ("float" in broken_promises(scene)) is floats


def test_a_clash_between_two_frames_is_seen_in_the_half_frames() -> None:
    half = half_scene()
    half.shift("door", 2, 0, -10)
    half.change("door", 2, depth=0)
    assert broken_promises(still_scene()) == {}
    broken = broken_promises(still_scene(), half)
    assert list(broken) == ["clash"]
    assert broken["clash"].broken[0].frames == (2.5,)


def test_a_flip_behind_a_nearer_piece_is_no_pop() -> None:
    scene = still_scene()
    plant_pop(scene)
    for frame in (3, 4):
        scene.change("wheel", frame, outline=box(0, 20, 40, 80))
    assert "pop" not in broken_promises(scene)


def test_a_foot_that_lifts_and_lands_elsewhere_does_not_slide() -> None:
    scene = still_scene()
    foot = scene.bones["foot_l"][0]
    steps = [(0, 0), (3, -20), (3, 0), (3, 0), (3, 0), (5, -9), (6, 0), (6, 0)]
    scene.bones["foot_l"] = [translate(foot, x, y) for x, y in steps]
    assert broken_promises(scene) == {}


def test_a_foot_that_only_starts_to_move_has_not_slid() -> None:
    scene = still_scene()
    foot = scene.bones["foot_l"][0]
    scene.bones["foot_l"] = [translate(foot, min(k, 3) * 2.0, 0) for k in range(8)]
    assert broken_promises(scene) == {}


def test_an_end_scale_outside_its_own_allowance_breaks_the_budget() -> None:
    scene = still_scene()
    kept = score_shot(scene.shot(), allowances={"hood": (0.9, 1.0, 0.5)})
    assert kept.kept
    scores = score_shot(scene.shot(), allowances={"hood": (1.1, 1.4, 0.5)})
    (place,) = next(p for p in scores.promises if p.name == "budget").broken
    assert (place.pieces, place.frames) == (("hood",), (7.0,))


def test_a_hidden_piece_may_be_any_size() -> None:
    scene = still_scene()
    plant_small_piece(scene)
    scene.change("hood", 3, visible=False)
    assert broken_promises(scene) == {}


def test_broken_promises_are_told_in_frames_from_one() -> None:
    scene = still_scene()
    plant_float(scene)
    plant_slide(scene)
    lines = score_shot(scene.shot()).lines()
    assert "BROKEN float: 2 (at most 0)" in lines
    door = "       door: frames 3-4: floats free of the body; "
    assert door + "worst frame 3 at (100, 70) by 60 units" in lines
    assert "       bone foot_l: frames 6-8: slides after it has landed" in lines
    assert "kept   pop: 0 (at most 0)" in lines


def test_pieces_at_two_shared_depths_do_not_clash_across_them() -> None:
    scene = still_scene()
    # Hood and door share depth 2, wheel and lamp depth 0; only the lamp and the
    # door overlap, and they lie at different depths.
    scene.looks["lamp"] = [Look(box(8, 45, 13, 50), depth=0)] * 8
    for frame in range(8):
        scene.change("hood", frame, depth=2)
        scene.change("door", frame, depth=2)
        scene.change("wheel", frame, depth=0)
    assert broken_promises(scene) == {}


def test_a_foot_that_lands_straight_down_is_planted_too() -> None:
    scene = still_scene()
    foot = scene.bones["foot_l"][0]
    steps = [(0, 0), (0, -20), (0, 0), (0, 0), (0, 0), (3, 0), (3, 0), (3, 0)]
    scene.bones["foot_l"] = [translate(foot, x, y) for x, y in steps]
    assert broken_promises(scene)["ground"].broken[0].frames == (5.0, 6.0, 7.0)


@pytest.mark.parametrize(("gap", "lands"), [(0.49, True), (0.51, False)])
def test_a_piece_lands_within_half_a_percent_of_its_bone(
    gap: float, *, lands: bool
) -> None:
    scene = still_scene()
    for frame in range(8):  # the door stays held by the body, its neighbour by the door
        scene.change("door", frame, outline=box(30 + gap, 40, 70, 70))
        scene.change("wheel", frame, outline=box(0, 70, 70, 100))
    scene.inputs["door"] = scene.looks["door"][0].outline
    assert ("landing" not in broken_promises(scene)) is lands
    assert "float" not in broken_promises(scene)


@pytest.mark.parametrize(
    ("plant", "name", "worst"),
    [
        (plant_float, "float", (2, 60.0)),  # a hundred away from a hood 40 wide
        (plant_clash, "clash", (4, 10.0)),
        (plant_pop, "pop", (3, 10.0)),
        (plant_below_ground, "ground", (3, 5.0)),
    ],
)
def test_a_break_tells_its_worst_frame_and_how_deep_it_is_there(
    plant: Callable[[Scene], None], name: str, worst: tuple[float, float]
) -> None:
    scene = still_scene()
    plant(scene)
    (place,) = broken_promises(scene)[name].broken
    assert place.worst is not None
    assert (place.worst.frame, place.worst.depth) == pytest.approx(worst, rel=1e-3)
    frame = scene.shot().frames[int(place.worst.frame)]
    guilty = [p.outline for p in frame.pieces if p.id in place.pieces]
    at = Point(place.worst.x, place.worst.y)
    assert min(at.distance(outline) for outline in guilty) <= 1e-6


def test_a_break_without_a_depth_names_none() -> None:
    scene = still_scene()
    plant_slide(scene)
    (place,) = broken_promises(scene)["ground"].broken
    assert place.worst is None
