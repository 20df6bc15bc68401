"""Nothing of the body spins, however short the shot and however far a limb must turn."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from panelbeater.kinematics.chain import place_bones
from panelbeater.terms.arrays import Floats
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action, Fold, Pose
from panelbeater.terms.timing import ShotOptions
from panelbeater.unfold import UnfoldOptions, unfold_body
from panelbeater.unfold.pace import HURRIED, frames_for, unhurried
from tests.yard import GROUND, yard


def _folded(**turns: float) -> Fold:
    """The yard's fold with some joints so many radians away from standing."""
    base, rest = yard(72).fold, yard(72).skeleton.rest
    pose = Pose(base.pose.root, base.pose.turns.copy(), base.pose.scales)
    for name, turn in turns.items():
        pose.turns[BONE_IDS.index(name)] = rest.turns[BONE_IDS.index(name)] + turn
    return replace(base, pose=pose)


def _unfolded(fold: Fold, shot: ShotOptions) -> Action:
    base = yard(72)
    return unfold_body(
        base.skeleton, fold, height=base.figure.height, ground=GROUND, shot=shot
    )


def _fastest(action: Action, *bones: str) -> Floats:
    """Radians a frame, on the stage, of each bone at its fastest."""
    _, angles = place_bones(yard(72).skeleton, action.pose)
    rows = [BONE_IDS.index(bone) for bone in bones]
    out: Floats = np.abs(np.diff(angles[:, rows], axis=0)).max(axis=0)
    return out


@pytest.mark.parametrize("n_frames", [36, 48])
def test_a_foot_that_turns_far_takes_its_time_in_a_short_shot(n_frames: int) -> None:
    base = yard(72)
    _, folded = place_bones(base.skeleton, base.fold.pose)
    _, stood = place_bones(base.skeleton, base.skeleton.rest)
    foot = BONE_IDS.index("foot_l")
    turn = (stood[foot] - folded[foot] + np.pi) % (2 * np.pi) - np.pi
    fold = replace(
        base.fold, pose=replace(base.fold.pose, turns=base.fold.pose.turns.copy())
    )
    fold.pose.turns[foot] += turn - 3.0  # radians are left to turn
    action = _unfolded(fold, ShotOptions(n_frames=n_frames))
    assert _fastest(action, "foot_l")[0] <= HURRIED + 1e-9


@pytest.mark.parametrize("action", ["rise", "crouch"])
@pytest.mark.parametrize("arm", ["l", "r"])
def test_an_arm_that_is_rolled_up_unrolls_in_time(arm: str, action: str) -> None:
    rolled = {f"upper_arm_{arm}": 1.9, f"forearm_{arm}": 2.3, f"hand_{arm}": 1.3}
    shot = ShotOptions(n_frames=72, action=action)
    unrolled = _unfolded(_folded(**rolled), shot)
    # The trunk turns meanwhile, which the limb's own time does not know of.
    trunk = _fastest(unrolled, "torso")[0]
    assert _fastest(unrolled, f"hand_{arm}")[0] <= HURRIED + trunk


def test_a_hand_that_trails_has_its_time_before_the_end() -> None:
    # Cut off by the end of the shot it would snap into place.
    shot, turn = ShotOptions(n_frames=60), 3.0
    late = UnfoldOptions(windows={**UnfoldOptions().windows, "arm_l": (0.72, 0.97)})
    fold = _folded(upper_arm_l=0.0, forearm_l=0.0, hand_l=turn)
    begin, end = unhurried(yard(72).skeleton, fold, shot, late).windows["arm_l"]
    room = shot.moving.stop - shot.moving.start
    assert begin * room + 2 * late.lag_frames + frames_for(turn) <= room + 1e-9
    assert end == 0.97
