"""A low crouch with one hand on the ground, held before the body stands up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from panelbeater.kinematics.chain import Skeleton, bodies_on_stage, place_bones
from panelbeater.terms.arrays import Points, Turns
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action, Fold, KeyPose, Pose
from panelbeater.terms.timing import FrameSpan, ShotOptions
from panelbeater.unfold.options import UnfoldOptions
from panelbeater.unfold.pace import frames_for, part_of, turned

DOWN, UP = 0.42, 0.56
"""The crouch is held between these shares of the moving part: six frames and more."""
WINDOWS: dict[str, tuple[float, float]] = {
    "step_r": (0.00, 0.22), "step_l": (0.08, 0.30), "root": (0.06, 0.84),
    "knee": (0.06, 0.84), "waist": (0.06, 0.82), "torso": (0.08, 0.84),
    "head": (0.76, 0.98),
}  # fmt: skip
HAND_DOWN, HAND_FREE = (0.36, 0.90), (0.72, 0.97)
"""Windows of the arm that reaches down and of the one that stays tucked until late."""
HIPS = (0.62, 0.52, 0.44, 0.36)
"""Heights of the hips tried, share of the standing height: no lower than the hand needs."""
LEANS = (0.35, 0.55, 0.75, 0.95)
"""Leans of the trunk to the side of the hand that go with them, radians."""
CLEAR = 0.3
"""The hips stay this share of the leg above the ankles: below them, as in a figure whose
boots are half as tall as its legs, both legs would turn right round as it gets up."""
REACH = 0.97
"""An arm stretched further than this share of its length looks nailed to the ground."""


def over_a_crouch(
    skeleton: Skeleton,
    fold: Fold,
    *,
    ground: float,
    shot: ShotOptions,
    options: UnfoldOptions,
) -> tuple[UnfoldOptions, tuple[KeyPose, ...]]:
    """Timing of the body over a crouch, and the pose at the first and last frame of its
    hold. The hand that is nearer the ground in the fold goes down.
    """
    joints, _ = place_bones(skeleton, fold.pose)
    left, right = (joints[BONE_IDS.index(f"hand_{side}"), 1] for side in ("l", "r"))
    side, other = ("l", "r") if left >= right else ("r", "l")
    windows = {**WINDOWS, f"arm_{side}": HAND_DOWN, f"arm_{other}": HAND_FREE}
    root, turns = _low_pose(skeleton, side, ground)
    span = shot.moving
    windows = _down_in_time(skeleton, fold, turns, shot, windows)
    length = span.stop - span.start
    down = span.start + max(1, round(DOWN * length))
    up = min(max(down + 1, span.start + round(UP * length)), span.stop - 1)
    full_size = dict.fromkeys(turns, (1.0, 1.0))
    poses = tuple(
        KeyPose("crouch", frame, root, turns, full_size)
        for frame in dict.fromkeys((down, up))
    )
    return replace(options, windows=windows), poses


def _down_in_time(
    skeleton: Skeleton,
    fold: Fold,
    said: Mapping[str, float],
    shot: ShotOptions,
    windows: Mapping[str, tuple[float, float]],
) -> dict[str, tuple[float, float]]:
    """The windows of what goes down begun early enough that nothing spins until then."""
    low = skeleton.rest.turns.copy()
    for name, change in said.items():
        low[BONE_IDS.index(name)] += change
    n_frames = max(shot.moving.stop - shot.moving.start, 1)
    out, turns = dict(windows), turned(skeleton, fold, low)
    for name in said:
        bone = BONE_IDS.index(name)
        part, _ = part_of(bone)
        least = frames_for(float(turns[bone])) / n_frames
        begin, end = out[part]
        out[part] = max(min(begin, DOWN - least), 0.0), end
    return out


def dressed_low(action: Action, up: int) -> Action:
    """The action with every bone said to be out when the body gets up from the crouch: the
    pieces find it there, and it rises dressed.
    """
    spans = (
        FrameSpan(min(span.start, up - 1), min(span.stop, up)) for span in action.spans
    )
    return Action(action.pose, tuple(spans))


def _low_pose(
    skeleton: Skeleton, side: str, ground: float
) -> tuple[Points, Mapping[str, float]]:
    """Hips (2,) and turns from standing: as high as one hand on the ground allows."""
    rest = skeleton.rest
    joints, _ = place_bones(skeleton, rest)
    hip, ankle = (joints[BONE_IDS.index(f"{n}_l"), 1] for n in ("thigh", "foot"))
    lowest = ankle - CLEAR * (ankle - hip) + rest.root[1] - hip
    lean_to = 1.0 if side == "l" else -1.0
    for share, lean in zip(HIPS, LEANS, strict=True):
        low = min(ground - share * (ground - rest.root[1]), lowest)
        root = np.array([rest.root[0], low])
        turns = rest.turns.copy()
        turns[BONE_IDS.index("waist")] += 0.4 * lean * lean_to
        turns[BONE_IDS.index("torso")] += 0.6 * lean * lean_to
        turns[BONE_IDS.index("head")] -= 0.6 * lean * lean_to
        if _reach_down(skeleton, root, turns, side, ground) <= REACH:
            break
    said = [n for n in BONE_IDS if n in ("waist", "torso", "head") or (n[:-2] in ARM
            and n.endswith(side))]  # fmt: skip
    change = turns - rest.turns
    return root, {name: float(change[BONE_IDS.index(name)]) for name in said}


ARM = ("upper_arm", "forearm", "hand")


def _reach_down(
    skeleton: Skeleton, root: Points, turns: Turns, side: str, ground: float
) -> float:
    """Turn the straight arm, in place, so that its lowest point touches the ground beside
    the body; how far down that is, as a share of the arm's length.
    """
    shoulder, hand = (BONE_IDS.index(f"{name}_{side}") for name in ("upper_arm", "hand"))
    outward = 1.0 if side == "l" else -1.0
    pad, share = 0.0, 1.0
    for _ in range(8):  # the hand is thicker than a point: pad until its edge touches
        pose = Pose(root, turns, skeleton.rest.scales)
        joints, angles = place_bones(skeleton, pose)
        tip = skeleton.lengths[hand] * np.array(
            [np.cos(angles[hand]), np.sin(angles[hand])]
        )
        along = joints[hand] + tip - joints[shoulder]
        length = float(np.hypot(*along))
        down = ground - pad - joints[shoulder, 1]
        share = down / length
        down = float(np.clip(down, -length, REACH * length))
        wanted = np.arctan2(down, outward * np.sqrt(length**2 - down**2))
        turn = wanted - np.arctan2(along[1], along[0])
        turns[shoulder] += (turn + np.pi) % (2 * np.pi) - np.pi
        bodies = bodies_on_stage(skeleton, Pose(root, turns, skeleton.rest.scales))
        arm = [bodies[BONE_IDS.index(f"{name}_{side}")] for name in ARM]
        pad += max(body.bounds[3] for body in arm) - ground
    return share
