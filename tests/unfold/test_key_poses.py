"""Key poses of the animator are hit exactly, and the rest of the action stays sound."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelbeater.errors import DrawingError
from panelbeater.kinematics.chain import place_bones
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action, KeyPose
from panelbeater.terms.timing import ShotOptions
from panelbeater.unfold import check_poses, read_pose, unfold_body
from panelbeater.unfold.keys import Knots, detour, passing
from panelbeater.unfold.legs import settled
from tests.yard import GROUND, yard

SHOT = ShotOptions(n_frames=72)
ARMS = {"upper_arm_l": -1.2, "forearm_l": 0.7, "hand_l": 0.1}


def led(*poses: KeyPose) -> Action:
    base = yard(72)
    return unfold_body(
        base.skeleton, base.fold, height=base.figure.height, ground=GROUND, shot=SHOT,
        poses=poses,
    )  # fmt: skip


def pose(frame: int = 30, **said: Any) -> KeyPose:
    parts = {"root": None, "turns": {}, "scales": {}} | said
    return KeyPose("crouch", frame, **parts)


def whole_pose(frame: int, *, shift: float = 0.0) -> KeyPose:
    """The default action at a frame, every bone turned a little further."""
    base, rest = yard(72).action.pose, yard(72).skeleton.rest
    wave = shift * np.sin(np.arange(len(BONE_IDS)))
    turns = base.turns[frame] - rest.turns + wave
    return pose(
        frame,
        root=base.root[frame] + 5 * shift,
        turns=dict(zip(BONE_IDS, turns.tolist(), strict=True)),
        scales={b: (float(s[0]), float(s[1])) for b, s in zip(
            BONE_IDS, base.scales[frame], strict=True)},
    )  # fmt: skip


def assert_hit(action: Action, key: KeyPose) -> None:
    rest = yard(72).skeleton.rest
    for name, turn in key.turns.items():
        bone = BONE_IDS.index(name)
        assert action.pose.turns[key.frame, bone] - rest.turns[bone] == pytest.approx(
            turn, abs=1e-9
        ), name
    for name, scale in key.scales.items():
        found = action.pose.scales[key.frame, BONE_IDS.index(name)]
        assert found == pytest.approx(scale, abs=1e-9), name
    if key.root is not None:
        assert action.pose.root[key.frame] == pytest.approx(key.root, abs=1e-9)


def test_without_poses_the_action_is_the_default_one() -> None:
    assert np.array_equal(led().pose.turns, yard(72).action.pose.turns)
    assert np.array_equal(led().pose.root, yard(72).action.pose.root)


@pytest.mark.parametrize("shift", [0.0, 0.2, -0.4])
def test_whole_poses_are_hit_exactly(shift: float) -> None:
    keys = (whole_pose(24, shift=shift), whole_pose(40, shift=-shift))
    action = led(*keys)
    for key in keys:
        assert_hit(action, key)


def test_fold_and_robot_stay_exact_around_a_pose() -> None:
    base, action = yard(72).action.pose, led(whole_pose(30, shift=0.4)).pose
    hold = SHOT.moving
    for still in (slice(0, hold.start + 1), slice(hold.stop, 72)):
        assert action.root[still] == pytest.approx(base.root[still], abs=1e-9)
        assert action.turns[still] == pytest.approx(base.turns[still], abs=1e-9)
        assert action.scales[still] == pytest.approx(base.scales[still], abs=1e-9)


def test_an_arm_pose_leaves_everything_else_alone() -> None:
    base, action = yard(72).action.pose, led(pose(turns=ARMS)).pose
    others = [b for b, name in enumerate(BONE_IDS) if name not in ARMS]
    assert_hit(led(pose(turns=ARMS)), pose(turns=ARMS))
    assert action.turns[:, others] == pytest.approx(base.turns[:, others], abs=1e-9)


def test_feet_stay_planted_when_only_the_hips_are_keyed() -> None:
    base = yard(72)
    key = pose(45, root=base.action.pose.root[45] + np.array([6.0, 7.0]))
    action = led(key)
    assert_hit(action, key)
    places, angles = place_bones(base.skeleton, action.pose)
    wanted, wanted_angles = place_bones(base.skeleton, base.action.pose)
    for foot in (BONE_IDS.index("foot_l"), BONE_IDS.index("foot_r")):
        assert places[:, foot] == pytest.approx(wanted[:, foot], abs=1e-6)
        assert angles[:, foot] == pytest.approx(wanted_angles[:, foot], abs=1e-6)


def test_a_keyed_foot_goes_there_and_comes_back() -> None:
    base = yard(72)
    key = pose(40, turns={"thigh_l": 0.9, "shank_l": -0.8, "foot_l": 0.0})
    action = led(key)
    assert_hit(action, key)
    foot = BONE_IDS.index("foot_l")
    places, _ = place_bones(base.skeleton, action.pose)
    stood, _ = place_bones(base.skeleton, base.skeleton.rest)
    assert np.hypot(*(places[40, foot] - stood[foot])) > 5
    assert places[-1, foot] == pytest.approx(stood[foot], abs=1e-6)


def test_joints_pass_a_pose_without_jumps() -> None:
    steps = np.abs(np.diff(led(whole_pose(30, shift=0.4)).pose.turns, axis=0))
    usual = np.abs(np.diff(yard(72).action.pose.turns, axis=0))
    assert steps.max() < usual.max() + 0.35


def test_a_pose_that_is_held_does_not_spin_a_limb_half_a_turn_from_its_usual_way() -> None:
    usual = yard(72).action.pose.turns[:, BONE_IDS.index("upper_arm_l")]
    first, last = 26, 34
    assert abs(usual[last] - usual[first]) > 0.2  # so that whole turns differ at the two
    rest = yard(72).skeleton.rest.turns[BONE_IDS.index("upper_arm_l")]
    away = float((usual[first] + usual[last]) / 2 + np.pi - rest)
    action = led(*(pose(at, turns={"upper_arm_l": away}) for at in (first, last)))
    held = action.pose.turns[first : last + 1, BONE_IDS.index("upper_arm_l")]
    assert np.ptp(held) < 1e-9


def test_whole_turns_in_a_pose_do_not_spin_the_body() -> None:
    turns = {"thigh_r": 0.5, "foot_r": -0.3, "forearm_l": 0.4}
    wound = {
        name: turn + 2 * np.pi * (k - 1) for k, (name, turn) in enumerate(turns.items())
    }
    plain, spun = led(pose(turns=turns)).pose, led(pose(turns=wound)).pose
    assert spun.turns == pytest.approx(plain.turns, abs=1e-9)


@pytest.mark.parametrize("rest", [0.1, -3.1, 9.5])
def test_a_limb_that_passes_half_a_turn_does_not_jump_back(rest: float) -> None:
    true = rest + np.linspace(-4, 0, 30)
    found = settled((true + np.pi) % (2 * np.pi) - np.pi, rest)
    assert found == pytest.approx(true, abs=1e-9)


def test_every_keyed_bone_is_still_outside_its_span() -> None:
    action = led(pose(turns=ARMS))
    for name in ARMS:
        bone = BONE_IDS.index(name)
        span, turns = action.spans[bone], action.pose.turns[:, bone]
        assert np.ptp(turns[: span.start + 1]) < 1e-9
        assert np.ptp(turns[span.stop - 1 :]) < 1e-9


def test_poses_in_the_holds_or_at_one_frame_are_refused() -> None:
    with pytest.raises(DrawingError, match="frame 3 lies outside"):
        check_poses([pose(2)], SHOT)
    with pytest.raises(DrawingError, match="both ask for frame 31"):
        check_poses([pose(30), pose(30)], SHOT)


values = st.lists(st.floats(-3, 3), min_size=3, max_size=6)


@given(values)
def test_passing_goes_through_every_knot_and_overshoots_none(wanted: list[float]) -> None:
    frames = np.arange(len(wanted), dtype=float) * 7
    path = passing(Knots(frames, np.array(wanted)[:, None]), int(frames[-1]) + 1)[:, 0]
    assert path[frames.astype(int)] == pytest.approx(wanted, abs=1e-12)
    for k in range(len(wanted) - 1):
        piece = path[7 * k : 7 * k + 8]
        assert piece.min() >= min(wanted[k : k + 2]) - 1e-9
        assert piece.max() <= max(wanted[k : k + 2]) + 1e-9


@given(st.sets(st.integers(11, 49), min_size=1, max_size=5), st.floats(2, 30))
def test_a_detour_rises_through_its_frames_in_order(asked: set[int], reach: float) -> None:
    frames = sorted(asked)
    knots = detour(frames, np.ones((len(frames), 1)), reach=reach, first=10, last=50)
    assert np.all(np.diff(knots.frames) > 0)
    assert knots.values[0] == knots.values[-1] == 0
    path = passing(knots, 60)
    assert path[frames] == pytest.approx(1.0)
    assert np.abs(path[:11]).max() == np.abs(path[50:]).max() == 0


def saved(**changed: Any) -> str:
    file = {
        "format": "panelbeater-pose", "version": 1, "frame": 30, "root": [1.5, 2.5],
        "turns": {"head": 0.25}, "scales": {"head": [0.9, 1.0]},
    }  # fmt: skip
    return json.dumps(file | changed)


def test_a_saved_pose_is_read_back(tmp_path: Path) -> None:
    (tmp_path / "crouch.json").write_text(saved())
    key = read_pose(tmp_path / "crouch.json")
    assert (key.name, key.frame, key.turns, key.scales) == (
        "crouch", 30, {"head": 0.25}, {"head": (0.9, 1.0)}
    )  # fmt: skip
    assert key.root == pytest.approx([1.5, 2.5])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (saved(version=2), "version"),
        (saved(turns={"hed": 1}), "did you mean 'head'"),
        (saved(turns={"head": "x"}), "turns.head"),
        (saved(frame=-1), "frame"),
        (saved(scales={"head": [0, 1]}), "greater than 0"),
        (saved(root=[1]), "root"),
        (saved().replace("0.25", "NaN"), "finite"),
        ("{", "not a pose"),
        ("[]", "dictionary"),
        ("[" * 20000, "not a pose"),
        (" " * 70000, "larger"),
    ],
)
def test_a_bad_pose_file_gets_one_clear_line(tmp_path: Path, text: str, says: str) -> None:
    path = tmp_path / "crouch.json"
    path.write_text(text)
    with pytest.raises(DrawingError, match=says) as error:
        read_pose(path)
    assert len(str(error.value).splitlines()) == 1


def test_a_missing_pose_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(DrawingError, match="no such pose"):
        read_pose(tmp_path / "none.json")
