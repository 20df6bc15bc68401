"""Joints ease in and out, and along a chain each follows the one before."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely

from panelbeater.kinematics.chain import bodies_on_stage
from panelbeater.terms.arrays import Floats
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action, Pose
from panelbeater.terms.timing import ShotOptions
from panelbeater.unfold import unfold_body
from panelbeater.unfold.balance import centre_of_mass
from tests.yard import GROUND, yard

CHAIN = ("upper_arm", "forearm", "hand")
FREE = [i for i, b in enumerate(BONE_IDS) if not b.startswith(("thigh", "shank", "foot"))]
"""Bones that turn by themselves; legs are closed onto planted feet."""


def _body(shot: ShotOptions) -> Action:
    base = yard(72)
    return unfold_body(
        base.skeleton, base.fold, height=base.figure.height, ground=GROUND, shot=shot
    )


def _speeds(action: Action) -> Floats:
    """(n_frames - 1, n_bones), radians each joint turns in a frame."""
    out: Floats = np.abs(np.diff(action.pose.turns, axis=0))
    return out


@pytest.mark.parametrize("plays", ["onwards", "back"])
@pytest.mark.parametrize("side", ["l", "r"])
def test_along_an_arm_each_joint_is_fastest_after_the_one_before(
    side: str, plays: str
) -> None:
    speeds = _speeds(_body(ShotOptions(n_frames=72, reverse=plays == "back")))
    peaks = [int(speeds[:, BONE_IDS.index(f"{name}_{side}")].argmax()) for name in CHAIN]
    # What plays from the robot is planned from the vehicle: there the hand goes first.
    trailing = [-peak for peak in peaks] if plays == "back" else peaks
    assert all(after - before >= 2 for before, after in itertools.pairwise(trailing))


@pytest.mark.parametrize("plays", ["onwards", "back"])
def test_every_free_joint_eases_in_and_out(plays: str) -> None:
    speeds = _speeds(_body(ShotOptions(n_frames=72, reverse=plays == "back")))
    for bone in FREE:
        own = speeds[:, bone]
        if own.sum() < 0.05:
            continue
        under_way = own[np.flatnonzero(own > 1e-9)]
        assert 1.6 < under_way.max() / under_way.mean() < 2.5, BONE_IDS[bone]
        assert max(under_way[0], under_way[-1]) < 0.1 * under_way.max(), BONE_IDS[bone]


def test_at_the_crouch_the_weight_is_over_feet_and_hand() -> None:
    base, shot = yard(72), ShotOptions(n_frames=72, action="crouch")
    pose = _body(shot).pose
    stirs = np.abs(np.diff(pose.turns, axis=0)).max(axis=1)
    inner = slice(shot.moving.start + 5, shot.moving.stop - 10)
    frame = inner.start + int(stirs[inner].argmin())
    held = Pose(pose.root[frame], pose.turns[frame], pose.scales[frame])
    bodies = bodies_on_stage(base.skeleton, held)
    low = GROUND - 0.002 * base.figure.height
    hands = [BONE_IDS.index("hand_l"), BONE_IDS.index("hand_r")]
    down = [bodies[hand] for hand in hands if bodies[hand].bounds[3] > low]
    down += [bodies[BONE_IDS.index(foot)] for foot in ("foot_l", "foot_r")]
    left, _, right, _ = shapely.total_bounds(down)
    x = centre_of_mass(base.skeleton, pose)[frame, 0]
    assert len(down) == 3
    assert left < x < right
