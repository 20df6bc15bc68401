"""Leads the default action through the animator's key poses."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

from panelbeater.kinematics.chain import Skeleton, place_bones
from panelbeater.terms.arrays import Floats
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action, KeyPose, Pose
from panelbeater.terms.timing import FrameSpan, ShotOptions
from panelbeater.unfold.ground import sunk, sunk_between, widened
from panelbeater.unfold.keys import Knots, check_poses, detour, passing
from panelbeater.unfold.legs import nearest, reach_foot, settled
from panelbeater.unfold.options import UnfoldOptions

LEG = ("thigh", "shank", "foot")
ABOVE = [i for i, name in enumerate(BONE_IDS) if not name.startswith(LEG)]
"""Bones that a lift of the hips keeps out of the ground between frames once feet stand."""
_WAIST = BONE_IDS.index("waist")
REACH = 0.3
"""Share of the moving part that a foot takes to leave for a key pose and to come back."""
FADE = 0.115
"""Share of the moving part, and six frames at most, in which a lift fades towards a key."""
TRAVEL = 0.01
"""Share of the height a foot may shift without being lifted off the ground."""


def lead_through(
    skeleton: Skeleton,
    action: Action,
    poses: Sequence[KeyPose],
    *,
    height: float,
    ground: float,
    shot: ShotOptions,
    options: UnfoldOptions,
) -> Action:
    """The action, changed to hit every pose exactly; without poses, the same action.

    Trunk, arms and root are eased from fold through their keys to standing. Feet stay on
    the path of the default action, and legs close onto them, except where a pose names a
    bone of that leg: then its foot leaves for the key and comes back.
    Raises DrawingError for poses outside the moving part or two at one frame.
    """
    ordered = check_poses(poses, shot)
    if not ordered:
        return action
    lead = _Lead(skeleton, action, ordered, height, shot, options)
    pose = lead.pose(np.zeros(shot.n_frames))
    lift = np.zeros(shot.n_frames)
    for _ in range(4):
        allowed = options.dip * height
        dips = np.maximum(
            sunk_between(skeleton, pose, ground, allowed, ABOVE),
            sunk_between(skeleton, pose, ground, allowed) * lead.is_stepping,
        )
        deep = np.maximum(sunk(skeleton, pose, ground), dips) * lead.is_free
        if deep.max() <= 1e-9:
            break
        lift = np.minimum(lift + widened(1.05 * deep), height)
        pose = lead.pose(lift)
    return Action(pose, tuple(lead.spans))


class _Lead:
    """One shot's way through its poses."""

    def __init__(
        self,
        skeleton: Skeleton,
        action: Action,
        poses: tuple[KeyPose, ...],
        height: float,
        shot: ShotOptions,
        options: UnfoldOptions,
    ) -> None:
        self._skeleton, self._default, self._poses = skeleton, action.pose, poses
        self._height, self._options = height, options
        self._n_frames = shot.n_frames
        self._first, self._last = shot.moving.start, shot.moving.stop
        self.spans = list(action.spans)
        self._origins, self._angles = place_bones(skeleton, action.pose)
        feet = self._origins[:, [BONE_IDS.index("foot_l"), BONE_IDS.index("foot_r")]]
        self.is_stepping = (feet != feet[-1]).any(axis=(1, 2))  # (n_frames,)
        frames = np.arange(shot.n_frames, dtype=np.float64)
        rooted = [pose for pose in poses if pose.root is not None]
        held = [pose.frame for pose in rooted]
        # A lift fades out towards a frame whose root the animator has set.
        self._fade = np.ones(shot.n_frames)
        fade = min(6.0, FADE * (self._last - self._first))
        for frame in held:
            self._fade *= np.clip(np.abs(frames - frame) / fade, 0.0, 1.0)
        # In a hold nothing may stir: no lift, and no knee that goes on as if it rose.
        at, shown = [0.0], [0.0]
        for one, other in itertools.pairwise(rooted):
            if np.array_equal(np.asarray(one.root), np.asarray(other.root)):
                self._fade *= (frames < one.frame) | (frames > other.frame)
                at += [one.frame, other.frame]
                shown += [one.frame, one.frame]
        self._knee_clock = np.interp(frames, [*at, frames[-1]], [*shown, frames[-1]])
        self._fade *= (frames > self._first) & (frames < self._last)
        self.is_free = self._fade > 0
        self._root = self._rooted()
        self._turns, self._scales = self._trunk()

    def pose(self, lift: Floats) -> Pose:
        """The whole action with the hips lifted by (n_frames,)."""
        root = self._root - np.stack([np.zeros_like(lift), lift * self._fade], axis=-1)
        turns, scales = self._turns.copy(), self._scales.copy()
        for side in ("l", "r"):
            self._leg(side, root, turns, scales)
        return Pose(root, turns, scales)

    def _between(self, frames: list[int], begin: int, end: int) -> tuple[float, float]:
        """Where a part starts and stops, so that its keys are neither rushed nor late."""
        half = (end - begin) / 2
        return (
            max(float(self._first), min(begin, frames[0] - half)),
            min(float(self._last), max(end, frames[-1] + half)),
        )

    def _through(self, frames: list[int], values: Floats, fold: Floats, rest: Floats,
                 ends: tuple[float, float]) -> Floats:  # fmt: skip
        at = np.array([ends[0], *frames, ends[1]])
        return passing(Knots(at, np.stack([fold, *values, rest])), self._n_frames)

    def _rooted(self) -> Floats:
        said = [pose for pose in self._poses if pose.root is not None]
        if not said:
            return self._default.root
        length = self._last - self._first
        begin, end = (
            round(self._first + share * length) for share in self._options.windows["root"]
        )
        frames = [pose.frame for pose in said]
        ends = self._between(frames, begin, end)
        for bone, name in enumerate(BONE_IDS):
            if name.startswith(LEG):
                self._widen(bone, ends)
        values = np.array([pose.root for pose in said])
        return self._through(
            frames, values, self._default.root[0], self._skeleton.rest.root, ends
        )

    def _trunk(self) -> tuple[Floats, Floats]:
        """Turns and scales with every keyed bone but the legs led through its keys."""
        turns, scales = self._default.turns.copy(), self._default.scales.copy()
        rest = self._skeleton.rest
        for bone, name in enumerate(BONE_IDS):
            if name.startswith(LEG):
                continue
            span = self.spans[bone]
            for whole, still, keyed in (
                (turns, rest.turns, self._said_turns(name)),
                (scales, rest.scales, self._said_scales(name)),
            ):
                if not keyed:
                    continue
                frames = sorted(keyed)
                ends = self._between(frames, span.start, span.stop - 1)
                values = np.array([keyed[frame] for frame in frames])
                path = self._through(
                    frames, values.reshape(len(frames), -1),
                    np.atleast_1d(whole[0, bone]), np.atleast_1d(still[bone]), ends,
                )  # fmt: skip
                whole[:, bone] = path.reshape(whole[:, bone].shape)
                self._widen(bone, ends)
        return turns, scales

    def _said_turns(self, name: str) -> dict[int, float]:
        bone = BONE_IDS.index(name)
        standing, usual = self._skeleton.rest.turns[bone], self._default.turns[:, bone]
        said = {p.frame: standing + p.turns[name] for p in self._poses if name in p.turns}
        frames = sorted(said)
        # From key to key a limb goes the short way round: in a hold it would spin else.
        keys = np.unwrap([said[frame] for frame in frames])
        keys = nearest(keys, keys[:1], usual[frames[:1]]) if frames else keys
        return dict(zip(frames, keys.tolist(), strict=True))

    def _said_scales(self, name: str) -> dict[int, tuple[float, float]]:
        return {p.frame: p.scales[name] for p in self._poses if name in p.scales}

    def _widen(self, bone: int, ends: tuple[float, float]) -> None:
        span = self.spans[bone]
        self.spans[bone] = FrameSpan(
            min(span.start, int(np.floor(ends[0]))),
            min(max(span.stop, int(np.ceil(ends[1])) + 1), self._n_frames),
        )

    def _leg(self, side: str, root: Floats, turns: Floats, scales: Floats) -> None:
        """Close one leg onto its foot's path, in place, and make its keys exact."""
        bones = [BONE_IDS.index(f"{name}_{side}") for name in LEG]
        ankle, angle = self._origins[:, bones[2]], self._angles[:, bones[2]]
        knee = np.interp(
            self._knee_clock, np.arange(self._n_frames), self._default.turns[:, bones[1]]
        )
        asked = [
            pose for pose in self._poses
            if any(BONE_IDS[b] in pose.turns or BONE_IDS[b] in pose.scales for b in bones)
        ]  # fmt: skip
        hips = (root, turns[:, _WAIST], scales[:, _WAIST])
        default = self._default
        as_before = (default.root, default.turns[:, _WAIST], default.scales[:, _WAIST])
        if not asked and all(map(np.array_equal, hips, as_before)):
            return  # the default action has closed this leg already
        self._close(side, root, turns, scales, (ankle, angle, knee))
        if not asked:
            return
        frames = [pose.frame for pose in asked]
        keyed = self._keyed_rows(asked, bones, root, turns, scales)
        places, angles = place_bones(self._skeleton, keyed)
        foot = bones[2]
        leave = np.concatenate(
            [
                places[:, foot] - ankle[frames],
                (angles[:, foot] - angle[frames])[:, None],
                (keyed.turns[:, bones[1]] - knee[frames])[:, None],
            ],
            axis=1,
        )  # (n_keys, 4): ankle x, y, foot angle, knee
        change = self._detour(frames, leave)
        hop = self._hops(change[:, :2])
        path = ankle + change[:, :2] - np.stack([np.zeros_like(hop), hop], axis=-1)
        self._close(
            side, root, turns, scales, (path, angle + change[:, 2], knee + change[:, 3])
        )
        # What is left, mostly nothing: a key that no closed leg draws by itself.
        turns[:, bones] += self._detour(
            frames, keyed.turns[:, bones] - turns[frames][:, bones]
        )
        left = (keyed.scales[:, bones] - scales[frames][:, bones]).reshape(len(frames), -1)
        scales[:, bones] += self._detour(frames, left).reshape(-1, len(bones), 2)
        reach = self._reach
        for bone in bones:
            self._widen(bone, (max(frames[0] - reach, self._first),
                               min(frames[-1] + reach, self._last)))  # fmt: skip

    @property
    def _reach(self) -> float:
        return max(2.0, REACH * (self._last - self._first))

    def _detour(self, frames: list[int], changes: Floats) -> Floats:
        knots = detour(
            frames, changes, reach=self._reach, first=self._first, last=self._last
        )
        return passing(knots, self._n_frames)

    def _hops(self, change: Floats) -> Floats:
        """(n_frames,): how far a travelling foot is lifted; none at keys, none at rest."""
        far = np.hypot(change[:, 0], change[:, 1])
        speed = np.hypot(*np.gradient(change, axis=0).T)
        if far.max() < TRAVEL * self._height:
            return np.zeros_like(far)
        lift = self._options.lift * self._height * speed / max(float(speed.max()), 1e-12)
        for pose in self._poses:
            lift *= np.clip(np.abs(np.arange(len(far)) - pose.frame) / 3.0, 0.0, 1.0)
        return np.asarray(lift, dtype=np.float64)

    def _keyed_rows(
        self, asked: list[KeyPose], bones: list[int], root: Floats, turns: Floats,
        scales: Floats,
    ) -> Pose:  # fmt: skip
        """The whole body at the asked frames, with the leg as the poses say."""
        frames = [pose.frame for pose in asked]
        row_turns, row_scales = turns[frames], scales[frames]
        for row, pose in enumerate(asked):
            for bone in bones:
                name = BONE_IDS[bone]
                if name in pose.turns:
                    standing = self._skeleton.rest.turns[bone]
                    wish, here = standing + pose.turns[name], row_turns[row, bone]
                    row_turns[row, bone] = nearest(wish, wish, here)
                if name in pose.scales:
                    row_scales[row, bone] = pose.scales[name]
        return Pose(root[frames], row_turns, row_scales)

    def _close(
        self, side: str, root: Floats, turns: Floats, scales: Floats,
        path: tuple[Floats, Floats, Floats],
    ) -> None:  # fmt: skip
        """Two-bone inverse kinematics onto ankle (n_frames, 2), foot angle and knee."""
        thigh, shank, foot = (BONE_IDS.index(f"{name}_{side}") for name in LEG)
        ankle, foot_angle, knee = path
        origins, angles = place_bones(self._skeleton, Pose(root, turns, scales))
        low = min(self._options.length_min, float(self._default.scales[0, thigh, 0]))
        turn, bend, length = reach_foot(
            self._skeleton, side, origins[:, thigh], angles[:, _WAIST], ankle, knee, low
        )
        rest = self._skeleton.rest.turns
        turns[:, thigh] = settled(turn, float(rest[thigh]))
        turns[:, shank] = settled(bend, float(knee[-1]))
        scales[:, thigh, 0] = scales[:, shank, 0] = length
        flat = foot_angle - angles[:, _WAIST] - turns[:, thigh] - turns[:, shank]
        turns[:, foot] = settled(flat, float(rest[foot]))
