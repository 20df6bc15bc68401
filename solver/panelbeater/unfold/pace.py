"""No part of the body is given so little time that it spins."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from panelbeater.kinematics.chain import PARENTS, Skeleton, place_bones
from panelbeater.terms.arrays import Turns
from panelbeater.terms.figure import BONE_IDS, BONE_TREE
from panelbeater.terms.pose import Fold
from panelbeater.terms.timing import ShotOptions
from panelbeater.unfold.options import UnfoldOptions

HURRIED = 0.7
"""Radians a frame at which a limb begins to spin (project)."""
PEAK = 1.875
"""Peak speed of a minimum-jerk move, times the mean."""


def unhurried(
    skeleton: Skeleton, fold: Fold, shot: ShotOptions, options: UnfoldOptions
) -> UnfoldOptions:
    """The same timing with windows long enough for how far each part turns, and early
    enough that the hand, which trails, has as much time as its arm.
    """
    change = turned(skeleton, fold, skeleton.rest.turns)
    windows = dict(options.windows)
    for bone, name in enumerate(BONE_IDS):
        part = f"step_{name[-1]}" if name.startswith("foot") else part_of(bone)[0]
        if part == "knee":
            continue
        least = frames_for(float(change[bone]))
        if part.startswith("step"):
            least = max(least, options.step_frames)
        trails = 2 * options.lag_frames if part.startswith("arm") else 0.0
        windows[part] = _at_least(windows[part], least, trails, shot)
    return replace(options, windows=windows)


def frames_for(turn: float) -> float:
    """How long a turn of so many radians must take."""
    return PEAK * abs(turn) / HURRIED


def _at_least(
    window: tuple[float, float], least: float, trails: float, shot: ShotOptions
) -> tuple[float, float]:
    """The window made at least so many frames long: from an earlier start where what
    trails, by so many frames, would be late, else to a later end.
    """
    n_frames = max(shot.moving.stop - shot.moving.start, 1)
    begin, end = window
    length, latest = least / n_frames, 1.0 - max(trails, 0.0) / n_frames
    begin = max(min(begin, latest - length), 0.0)
    return begin, min(max(end, begin + length), 1.0)


def turned(skeleton: Skeleton, fold: Fold, turns: Turns) -> Turns:
    """(n_bones,), radians each bone turns from the fold to `turns` (n_bones,) together with
    all of its limb before it; a foot from the fold to where it stands.
    """
    out: Turns = turns - fold.pose.turns
    for bone, (_, _, controller) in enumerate(BONE_TREE):
        parent = PARENTS[bone]
        if parent >= 0 and BONE_TREE[parent][2] == controller:
            out[bone] += out[parent]
    folded, stood = (place_bones(skeleton, pose)[1] for pose in (fold.pose, skeleton.rest))
    for side in ("l", "r"):
        foot = BONE_IDS.index(f"foot_{side}")
        out[foot] = foot_turn(float(folded[foot]), float(stood[foot]))
    return out


def foot_turn(folded: float, stood: float) -> float:
    """Radians from a folded foot to the planted one, the short way; both stage angles."""
    return (stood - folded + np.pi) % (2 * np.pi) - np.pi


def part_of(bone: int) -> tuple[str, int]:
    """The window a bone moves in and its place along the chain."""
    name, _, controller = BONE_TREE[bone]
    if controller.startswith("leg"):
        return "knee", 0
    order = {"upper_arm": 0, "forearm": 1, "hand": 2}
    return controller, order.get(name[:-2], 0)
