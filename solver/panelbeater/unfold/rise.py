"""The body's default action: from the fold to standing on planted feet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from panelbeater.kinematics.chain import Skeleton, place_bones
from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.terms.arrays import Floats, Points, Scales, Turns
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action, Fold, KeyPose, Pose
from panelbeater.terms.timing import FrameSpan, ShotOptions
from panelbeater.unfold.balance import tipping
from panelbeater.unfold.crouch import dressed_low, over_a_crouch
from panelbeater.unfold.ground import sunk, sunk_between, widened
from panelbeater.unfold.legs import CALM, haste, reach_foot, settled, step_paths
from panelbeater.unfold.options import RISE, TUCK, UnfoldOptions
from panelbeater.unfold.pace import HURRIED, foot_turn, part_of, unhurried
from panelbeater.unfold.through import lead_through

_WAIST = BONE_IDS.index("waist")
LATER = (0.0, 0.04, 0.08, 0.12)
"""How much later than usual both steps are tried, shares of the moving part: once the hips
are above ankles that stand as high as they lay, no leg turns right round."""
SINKING = ("root", "knee", "waist", "torso")
"""Parts that carry the weight."""


def unfold_body(
    skeleton: Skeleton,
    fold: Fold,
    *,
    height: float,
    ground: float,
    shot: ShotOptions,
    options: UnfoldOptions | None = None,
    poses: Sequence[KeyPose] = (),
) -> Action:
    """Rise from the fold: feet step out and plant, the trunk lifts, arms and head follow.

    The first frame is the fold, the last `shot.last_hold` frames are the standing pose,
    both exactly. A planted foot neither slides nor turns: the legs are closed by inverse
    kinematics. Once both feet stand, the weight is kept over them. Key poses in between
    are hit exactly; raises DrawingError where one lies outside the moving part of the shot.
    """
    options = options or (TUCK if shot.reverse else RISE)
    low: tuple[KeyPose, ...] = ()
    if shot.action == "crouch":
        options, low = over_a_crouch(skeleton, fold, ground=ground, shot=shot,
                                     options=options)  # fmt: skip
        said = {pose.frame for pose in poses}
        poses = [*poses, *(pose for pose in low if pose.frame not in said)]
    options = unhurried(skeleton, fold, shot, options)
    action, least = None, np.inf
    for late in LATER:
        tried = lead_through(
            skeleton,
            _risen(skeleton, fold, height, ground, shot, _later(options, late)),
            poses, height=height, ground=ground, shot=shot, options=options,
        )  # fmt: skip
        hurry = _haste(skeleton, tried.pose)
        if action is None or hurry < least:
            action, least = tried, hurry
        if least <= HURRIED:
            break
    assert action
    return dressed_low(action, low[-1].frame) if low else action


def _later(options: UnfoldOptions, late: float) -> UnfoldOptions:
    """The same timing with both steps so much later, as a share of the moving part."""
    later = {
        part: (begin + late, end + late)
        for part, (begin, end) in options.windows.items()
        if part.startswith("step")
    }
    return replace(options, windows={**options.windows, **later})


def _haste(skeleton: Skeleton, pose: Pose) -> float:
    """How hurried the more hurried leg looks, in radians a frame."""
    _, angles = place_bones(skeleton, pose)
    legs = [
        [BONE_IDS.index(f"{name}_{side}") for name in ("thigh", "shank")] for side in "lr"
    ]
    return max(
        haste(angles[:, _WAIST], angles[:, thigh] - angles[:, _WAIST],
              pose.turns[:, shank], pose.scales[:, thigh, 0])
        for thigh, shank in legs
    )  # fmt: skip


def _risen(
    skeleton: Skeleton, fold: Fold, height: float, ground: float, shot: ShotOptions,
    options: UnfoldOptions,
) -> Action:  # fmt: skip
    """The action without key poses."""
    clock = _Clock(shot, options)
    turns, scales, spans = _free_turns(skeleton, fold, clock, options)
    up = clock.ease("root")[:, None]
    root = (1 - up) * fold.pose.root + up * skeleton.rest.root
    lift = np.zeros(shot.n_frames)
    stands = clock.standing()
    for _ in range(6):
        pose = _on_legs(skeleton, fold, clock, options, height, root, lift, turns, scales)
        # A planted foot dips by a hair between frames; no lift of the hips would help it.
        dips = sunk_between(skeleton, pose, ground, options.dip * height) * (stands < 1.0)
        deep = np.maximum(sunk(skeleton, pose, ground), dips)
        tips = tipping(skeleton, pose) * (stands >= 1.0)
        if deep.max() <= 1e-9 and np.abs(tips).max() <= 1e-9:
            break
        lift = np.minimum(lift + clock.under_way() * widened(1.05 * deep), height)
        sway = widened(1.1 * np.maximum(tips, 0)) - widened(1.1 * np.maximum(-tips, 0))
        root = root - np.stack([stands * sway, np.zeros_like(sway)], axis=-1)
    return Action(pose, spans)


class _Clock:
    """Eased progress of every part, 0 at the fold and 1 at the standing pose."""

    def __init__(self, shot: ShotOptions, options: UnfoldOptions) -> None:
        self.frames = np.arange(shot.n_frames, dtype=np.float64)
        self.first, self.last = (
            shot.moving.start,
            max(shot.moving.stop, shot.moving.start + 1),
        )
        self._windows, self._gathering = options.windows, options.gathering

    def window(self, part: str, lag: float = 0.0) -> tuple[float, float]:
        """First and last frame of a part's own move."""
        begin, end = self._windows[part]
        length = self.last - self.first
        stop = min(self.first + end * length + lag, float(self.last))
        start = max(self.first + begin * length + lag, float(self.first))
        return min(start, stop - 1.0), stop

    def ease(self, part: str, lag: float = 0.0) -> Floats:
        """(n_frames,)"""
        begin, end = self.window(part, lag)
        share = np.clip((self.frames - begin) / (end - begin), 0.0, 1.0)
        if part in SINKING and self._gathering != 1.0:
            share = 1.0 - (1.0 - share) ** self._gathering
        return minimum_jerk(share)

    def under_way(self) -> Floats:
        """(n_frames,): 0 in both holds, which no lift may stir, 1 from three frames after
        the first.
        """
        begun = np.clip((self.frames - self.first) / 3.0, 0.0, 1.0)
        out: Floats = (1.0 - (1.0 - begun) ** 2) * (self.frames < self.last)
        return out

    def standing(self) -> Floats:
        """(n_frames,): 1 from where both feet are planted until the robot stands still,
        faded in from the first foot's first step.
        """
        steps = [self.window(f"step_{side}") for side in ("l", "r")]
        begin, end = min(step[0] for step in steps), max(step[1] for step in steps)
        out: Floats = minimum_jerk((self.frames - begin) / (end - begin))
        return out * (self.frames < self.last)


def _free_turns(
    skeleton: Skeleton, fold: Fold, clock: _Clock, options: UnfoldOptions
) -> tuple[Turns, Scales, tuple[FrameSpan, ...]]:
    """Every joint eased straight from fold to rest in its own window."""
    shape = (len(clock.frames), len(BONE_IDS))
    turns, scales = np.empty(shape), np.empty((*shape, 2))
    spans = []
    for bone in range(len(BONE_IDS)):
        part, place = part_of(bone)
        lag = options.lag_frames * place
        u = clock.ease(part, lag)
        turns[:, bone] = (1 - u) * fold.pose.turns[bone] + u * skeleton.rest.turns[bone]
        scales[:, bone] = (1 - u[:, None]) * fold.pose.scales[bone] + u[:, None]
        side = BONE_IDS[bone][-1]
        begin, end = clock.window(f"step_{side}" if part == "knee" else part, lag)
        spans.append(FrameSpan(int(np.floor(begin)), int(np.ceil(end)) + 1))
    return turns, scales, tuple(spans)


def _on_legs(
    skeleton: Skeleton,
    fold: Fold,
    clock: _Clock,
    options: UnfoldOptions,
    height: float,
    root: Points,
    lift: Floats,
    turns: Turns,
    scales: Scales,
) -> Pose:
    """Close both legs between the lifted hips and the feet's own path."""
    turns, scales = turns.copy(), scales.copy()
    root = root - np.stack([np.zeros_like(lift), lift], axis=-1)
    folded, folded_angles = place_bones(skeleton, fold.pose)
    stood, stood_angles = place_bones(skeleton, skeleton.rest)
    for side in ("l", "r"):
        u = clock.ease(f"step_{side}")
        thigh, shank, foot = (
            BONE_IDS.index(f"{name}_{side}") for name in ("thigh", "shank", "foot")
        )
        origins, angles = place_bones(skeleton, Pose(root, turns, scales))
        low = min(options.length_min, float(fold.pose.scales[thigh, 0]))
        hop = (options.lift * height + lift * (u < 1)) * 4 * u * (1 - u)
        hip, knee = origins[:, thigh], turns[:, shank].copy()
        most = np.inf
        for path in step_paths(folded[foot], stood[foot], hip, u):
            ankle = path - hop[:, None] * (0.0, 1.0)
            leg = reach_foot(skeleton, side, hip, angles[:, _WAIST], ankle, knee, low)
            hurry = haste(angles[:, _WAIST], *leg)
            if hurry < most:
                most, (turn, bend, length) = hurry, leg
            if most <= CALM:
                break
        turns[:, thigh] = settled(turn, float(skeleton.rest.turns[thigh]))
        turns[:, shank] = bend
        turn_down = foot_turn(float(folded_angles[foot]), float(stood_angles[foot]))
        foot_angle = folded_angles[foot] + u * turn_down
        scales[:, foot] = (1 - u)[:, None] * fold.pose.scales[foot] + u[:, None]
        scales[:, thigh, 0] = scales[:, shank, 0] = length
        flat = foot_angle - angles[:, _WAIST] - turns[:, thigh] - turns[:, shank]
        turns[:, foot] = settled(flat, float(skeleton.rest.turns[foot]))
    return Pose(root, turns, scales)
