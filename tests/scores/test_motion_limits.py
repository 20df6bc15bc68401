"""Motion scores exactly at their limits, and in the frames where they begin and end.

The shot's frame is 2000 wide and all squares stand on whole units, so that a share of W is
met to the last digit: 0.001 W is 2, 0.6 % is 12, 1.3 % is 26, 2.1 % is 42, W / 4 is 500.
"""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Polygon, box
from shapely.affinity import rotate, scale

from panelbeater.scores.motion.arc import path_over_chord
from panelbeater.scores.motion.bundles import percentile_95
from panelbeater.scores.motion.runs import find_runs
from tests.scores.shots import Look, Scene, moving_scene, still_scene
from tests.scores.test_motion import line
from tests.scores.test_motion_holds import laid, scored

Path = list[tuple[float, float]]


@pytest.mark.parametrize(("step", "movers"), [(2, 0), (2.01, 1)])
def test_a_piece_moves_when_it_goes_more_than_a_thousandth_of_the_frame(
    step: float, movers: int
) -> None:
    scores = scored(moving_scene({"a": line((50, 50), (step, 0), 9)}))
    assert scores["movers"].value == movers
    assert (scores["hold of the robot"].value == 9) is (movers == 0)


@pytest.mark.parametrize(
    ("slow", "bundles"),
    # They differ by 2, a quarter of the largest speed; by a little more.
    [(6.0, 1), (5.99, 2)],
)
def test_velocities_a_quarter_of_the_largest_apart_are_one_group(
    slow: float, bundles: int
) -> None:
    paths = {"a": line((50, 50), (8, 0), 5), "b": line((50, 90), (slow, 0), 5)}
    assert scored(moving_scene(paths))["bundles at most"].value == bundles


def _on_two_arms(*, is_one_arm: bool) -> float:
    """Groups of two pieces that turn with an arm each, or both with the same one."""
    scene = moving_scene({"near": [(300, 500)] * 4, "far": [(700, 500)] * 4})
    arm = box(200, 480, 800, 520)
    for name, bone in (("near", "torso"), ("far", "torso" if is_one_arm else "arm")):
        for frame in range(4):
            turned = rotate(scene.looks[name][0].outline, 10 * frame, origin=(500, 500))
            scene.change(name, frame, outline=turned, bone=bone)
    arms = [rotate(arm, 10 * frame, origin=(500, 500)) for frame in range(4)]
    scene.bones = {"torso": arms, "arm": arms}
    return scored(scene)["bundles at most"].value


def test_only_pieces_of_one_bone_are_held_together_by_it() -> None:
    assert _on_two_arms(is_one_arm=True) == 1
    assert _on_two_arms(is_one_arm=False) == 2


def test_a_bone_that_is_not_there_carries_nothing() -> None:
    scene = moving_scene({"a": line((50, 50), (8, 0), 5)})
    arm = box(100, 0, 200, 50)
    scene.bones["arm"] = [Polygon(), Polygon(), arm, arm, Polygon()]
    assert scored(scene)["movers"].value == 1
    assert laid(scene).riding[:, 0].tolist() == [[0, 0]] * 4


def test_the_95th_percentile_is_kept_by_nineteen_of_twenty() -> None:
    assert percentile_95(np.arange(1.0, 21.0)) == 19
    assert percentile_95(np.arange(1.0, 22.0)) == 20  # 19 of 21 are only 90 %
    assert percentile_95(np.array([])) == 0
    assert percentile_95(np.arange(1.0, 21.0), 0.5) == 10


@pytest.mark.parametrize(("step", "strobing"), [(10.0, 0.0), (10.01, 1.0)])
def test_a_step_strobes_beyond_the_whole_extent(step: float, strobing: float) -> None:
    scores = scored(moving_scene({"a": line((50, 50), (step, 0), 6)}))
    assert scores["strobing"].value == strobing


def test_a_step_of_half_the_extent_is_good() -> None:
    assert scored(moving_scene({"a": line((50, 50), (0, 5), 6)}))["step"].on_target
    longer = scored(moving_scene({"a": line((50, 50), (0, 5.01), 6)}))["step"]
    assert not longer.on_target


def test_judder_is_weighed_by_the_areas_the_steps_begin_with() -> None:
    # Of two steps the first judders, 20 of 12 to 42: the small drawing's, 10 x 10 and then
    # 30 x 30.
    scene = moving_scene({"a": [(50, 50), (70, 50), (75, 50)]})
    for frame, x in ((1, 70), (2, 75)):
        scene.change("a", frame, outline=box(x - 15, 35, x + 15, 65), scale=3.0)
    assert scored(scene)["judder share"].value == pytest.approx(100 / 1000)


def test_a_change_of_size_while_a_piece_is_hidden_is_not_seen() -> None:
    scene = _company(20.0, 3.0, n_frames=5)
    whole = scored(scene)["secrecy"].series
    scene.change("b", 2, visible=False)
    part = scored(scene)["secrecy"].series
    # Two of its four steps are gone, and of all steps of the three ten of twelve are left.
    assert whole == pytest.approx([0, *[1 / 4] * 4], abs=0.02)
    assert part == pytest.approx([0, 0.3, 0.2, 0.2, 0.3], abs=0.02)


@pytest.mark.parametrize(
    ("step", "share"), [(11.99, 0.0), (12.0, 1.0), (42.0, 1.0), (42.01, 0.0)]
)
def test_a_pan_judders_from_the_seven_second_rule_to_a_whip(
    step: float, share: float
) -> None:
    scores = scored(moving_scene({"a": line((50, 50), (step, 0), 6)}))
    assert scores["judder share"].value == share


def test_nothing_moves_in_a_still_shot() -> None:
    scores = scored(still_scene())
    assert scores["strobing"].value == 0
    assert scores["movers"].value == scores["bundles at most"].value == 0
    assert scores["longest hold between"].value == 0
    assert scores["hold of the vehicle"].value == scores["hold of the robot"].value == 8
    assert not {"arc", "kink", "ease", "jerk", "landmark legibility"} & set(scores)


def _company(
    gap: float, speed: float, *, n_frames: int = 9, held: int = 1, change: float = 1 / 64
) -> Scene:
    """Three pieces of 10 x 10 in a row, `gap` apart, that shrink; and a big lead that goes
    another way beside the middle one. All in so much a frame, each drawing held.
    """
    shown = [frame // held * held for frame in range(n_frames)]
    scene = moving_scene({"lead": [(100 + gap, 300 + speed * k) for k in shown]}, size=90)
    for at, name in enumerate("abc"):
        looks = []
        for k in shown:
            x, half = 100 + at * gap + speed * k, 5 * (1 - change * k)
            small = box(x - half, 100 - half, x + half, 100 + half)
            looks.append(Look(small, depth=at + 1, scale=half / 5))
        scene.looks[name] = looks
    return scene


@pytest.mark.parametrize(
    ("gap", "speed", "seen"),
    # Each piece has the two others for company, the outer ones only while the row is no
    # longer than W / 4. The gate opens at 1.3 % of W.
    [(250.0, 26.0, 0.0), (250.0, 25.9, 1.0), (250.1, 26.0, 2 / 3), (501.0, 26.0, 1.0)],
)
def test_two_neighbours_within_a_quarter_of_the_frame_hide_a_fast_piece(
    gap: float, speed: float, seen: float
) -> None:
    assert scored(_company(gap, speed))["secrecy"].value == pytest.approx(seen, abs=1e-9)


@pytest.mark.parametrize(
    ("lead_area", "lead_speed", "seen"),
    # Area times speed of one of the row: 100 x 30. The eye is on the lead, which is slower
    # and larger, or faster and smaller; not on what has neither enough size nor speed.
    [(400, 9, 0.0), (64, 60, 0.0), (200, 9, 1 / 3), (36, 60, 1 / 3)],
)
def test_the_eye_follows_what_is_largest_and_fastest_together(
    lead_area: float, lead_speed: float, seen: float
) -> None:
    scene = _company(20.0, 30.0, change=1e-4)  # hardly any: areas stay what they are
    path = line((100, 300), (0, lead_speed), 9)
    lead = moving_scene({"lead": path}, size=lead_area**0.5)
    scene.looks["lead"] = [Look(look.outline, depth=9) for look in lead.looks["lead"]]
    assert scored(scene)["secrecy"].value == pytest.approx(seen, abs=1e-3)


@pytest.mark.parametrize(("change", "seen"), [(1 / 16, 0.0), (1 / 9, 1.0)])
def test_on_twos_a_drawing_may_hide_two_frames_of_change(
    change: float, seen: float
) -> None:
    # One step of two frames: |ln(1 - 2/16)| / 2 = 0.067, |ln(1 - 2/9)| / 2 = 0.126 a frame.
    scene = _company(20.0, 30.0, n_frames=10, held=2, change=change)
    for name in "abc":
        for frame in range(4, 10):  # then they keep their size
            look = scene.looks[name][frame]
            x, half = look.outline.centroid.x, 5 * (1 - 2 * change)
            small = box(x - half, 100 - half, x + half, 100 + half)
            scene.change(name, frame, outline=small, scale=half / 5)
    score = scored(scene)["secrecy"]
    assert score.value == pytest.approx(seen, abs=1e-9)
    # What is seen is told in both frames of the drawing that shows it.
    wanted = [0, 0, seen / 2, seen / 2, 0, 0, 0, 0, 0, 0]
    assert score.series == pytest.approx(wanted, abs=1e-9)


def test_two_frames_have_a_step_to_be_secret_in_and_one_has_none() -> None:
    assert scored(_company(20.0, 3.0, n_frames=2))["secrecy"].value == pytest.approx(1)
    assert "secrecy" not in scored(_company(20.0, 3.0, n_frames=1))


def test_resizing_within_the_rounding_of_the_file_is_none() -> None:
    # Of the area of all, 3 of 10 x 10 and one of 90 x 90, a millionth is 0.0084; four steps
    # change 300 units by so much each.
    for change, seen in ((5e-6, 0.0), (1e-5, 1.0)):
        score = scored(_company(20.0, 3.0, n_frames=5, change=change))["secrecy"]
        assert score.value == pytest.approx(seen)


def test_a_drift_too_slow_to_see_is_no_move_and_a_slow_tail_is_part_of_one() -> None:
    # At rest below 1e-5 W = 0.02 a step, moving above 2.
    drift = moving_scene({"a": line((50, 50), (1.0, 0), 12)})
    assert find_runs(laid(drift)) == []
    x = np.cumsum([50, 0, 0.019, 0.021, 5, 5, 0.021, 0.019, 0])
    (run,) = find_runs(laid(moving_scene({"a": [(at, 50.0) for at in x.tolist()]})))
    assert run.start == 2
    assert run.path[:, 0].tolist() == pytest.approx(x[2:7].tolist())


def test_a_closed_path_has_no_chord() -> None:
    square = np.array([(0, 0), (3, 0), (3, 4), (0, 4), (0, 0)], dtype=np.float64)
    assert path_over_chord(square) == np.inf
    assert path_over_chord(square[:-1]) == pytest.approx(10 / 4)
    loop = line((50, 50), (9, 0), 4) + line((77, 59), (0, 9), 3)
    loop += line((68, 77), (-9, 0), 3) + line((50, 68), (0, -9), 3)
    scores = scored(moving_scene({"a": loop}))
    assert loop[0] == loop[-1]
    assert "arc" not in scores
    assert scores["jerk"].value > 0


def test_moves_are_told_by_how_many_arc_as_they_should() -> None:
    def bow(height: float) -> Path:
        """Four steps, up and down again, 8 along each; 17 and 15 and 8, a right angle."""
        return [(100, 100), (108, 100 - height / 2), (116, 100 - height),
                (124, 100 - height / 2), (132, 100)]  # fmt: skip

    # Path over chord: 1; sqrt(8^2 + 6^2) / 8 = 1.25; sqrt(8^2 + 15^2) / 8 = 2.125.
    scores = scored(moving_scene({"a": bow(0), "b": bow(12), "c": bow(30)}))
    assert scores["arc"].value == pytest.approx(1.25)
    assert scores["arc"].note == "1 of 3 moves inside"
    # The sharpest corner is the top of the steepest: 2 atan(15 / 8).
    assert scores["kink"].value == pytest.approx(np.degrees(2 * np.arctan(15 / 8)))
    assert scores["kink"].note == "c, frame 3; 100.0% of all turns are above 30"


def test_a_straight_path_has_no_kink_to_tell_of() -> None:
    score = scored(moving_scene({"a": line((50, 50), (8, 0), 6)}))["kink"]
    assert (score.value, score.note) == (0, "")


def test_a_kink_is_found_after_a_rest_and_none_across_one() -> None:
    corner = [(50.0, 50.0)] * 2 + line((50, 50), (8, 0), 4)[1:] + line((74, 58), (0, 8), 3)
    assert scored(moving_scene({"a": corner}))["kink"].value == pytest.approx(90)
    still = line((50, 50), (8, 0), 6) + [(90.0, 50.0)] + line((90, 58), (0, 8), 6)
    assert scored(moving_scene({"a": still}))["kink"].value == 0


def test_a_path_may_turn_by_thirty_degrees() -> None:
    for turn in (29.9, 30.1):
        angles = np.radians([20.0, 20.0, 20.0 + turn, 20.0 + turn])
        steps = 8 * np.column_stack([np.cos(angles), np.sin(angles)])
        path = [(500.0, 500.0), *map(tuple, (500 + np.cumsum(steps, axis=0)).tolist())]
        score = scored(moving_scene({"a": path}))["kink"]
        assert score.value == pytest.approx(turn)
        assert score.on_target is (turn < 30)


@pytest.mark.parametrize("held", [2, 3])
@pytest.mark.parametrize("what", ["piece", "size", "body"])
def test_what_changes_on_twos_or_threes_tells_the_rhythm_whatever_it_is(
    what: str, held: int
) -> None:
    scene = moving_scene({"a": [(500.0, 500.0)] * 18})
    for frame in range(18):
        step = frame // held
        noise = (-1) ** frame * 2e-7  # rounding of the file: 1e-9 W is 2e-6
        outline = scene.looks["a"][0].outline
        if what == "piece":
            outline = box(495 + step + noise, 495, 505 + step + noise, 505)
        if what == "size":
            outline = scale(outline, 1 + 0.01 * step, 1 + 0.01 * step)
        if what == "body":
            shift = step + noise
            scene.bones["torso"][frame] = box(shift, 0, 1000 + shift, 1000)
        scene.change("a", frame, outline=outline)
    assert laid(scene).exposure == held


def test_a_piece_hidden_on_the_way_takes_no_step() -> None:
    scene = moving_scene({"a": line((50, 50), (8, 0), 6)})
    scene.change("a", 2, visible=False)
    assert laid(scene).length[:, 0].tolist() == [8, 0, 0, 8, 8]
    assert scored(scene)["movers"].series == (0, 1, 0, 0, 1, 1)
