"""The rig as numbers for the page's script: enough to evaluate the one rig equation."""

from __future__ import annotations

from typing import Any

import numpy as np

from panelbeater.geometry.stage import bone_from_standing
from panelbeater.kinematics.chain import PARENTS, skeleton_of
from panelbeater.terms.arrays import Affines, Floats
from panelbeater.terms.figure import BONE_IDS, BONE_TREE
from panelbeater.terms.pose import Pose
from panelbeater.terms.rig import Rig, Track

DIGITS = 7
"""Decimals of ratios and radians: a ten-millionth of a turn shows nowhere."""


def rig_data(rig: Rig, *, decimals: int) -> dict[str, Any]:
    """Skeleton, default body action and fold; `decimals` resolve the stage.

    Flat lists: `offsets` (n_bones, 2), `lengths` (n_bones,), `bind` (n_bones, 6) in the
    order of SVG's matrix(), `action` with leading axis n_frames.
    """
    skeleton = skeleton_of(rig.figure)
    fine = decimals + 3
    return {
        "bones": list(BONE_IDS),
        "controllers": [controller for _, _, controller in BONE_TREE],
        "parents": list(PARENTS),
        "offsets": _flat(skeleton.offsets, fine),
        "lengths": _flat(skeleton.lengths, fine),
        "bind": _flat(six(bone_from_standing(rig.figure.bones)), max(fine, DIGITS)),
        "rest": pose_data(skeleton.rest, fine),
        "fold": pose_data(rig.fold.pose, fine),
        "action": pose_data(rig.action, fine),
        "height": round(rig.figure.height, fine),
        "ground": round(rig.ground, fine),
        "keyable": sorted(
            rig.shot.from_vehicle(frame)
            for frame in (rig.shot.moving.start + 1, rig.shot.moving.stop - 1)
        ),
    }


def track_data(track: Track, *, decimals: int) -> dict[str, Any]:
    """One piece's ride: bone index, span and keys, and how it changes on the way; `keys` is
    (n_keys, 6), flat.
    """
    bend = track.bend
    keys = track.key_channels.copy()
    keys[:, :2] = np.round(keys[:, :2], decimals + 3)
    return {
        "rides": BONE_IDS.index(track.bone),
        "start": track.start,
        "end": track.end,
        "keyU": _flat(track.key_u, 10),
        "keys": _flat(keys, DIGITS),
        "bend": bend and [bend.axis, bend.curvature, bend.taper],
        "bending": [track.bending.start, track.bending.stop],
        "swap": track.swap,
        "vanish": track.vanish,
    }


def six(transforms: Affines) -> Floats:
    """(..., 3, 3) as six numbers each, in the order of SVG's matrix(); (..., 6)."""
    columns = np.swapaxes(transforms[..., :2, :], -1, -2)  # (..., 3, 2)
    return columns.reshape(*transforms.shape[:-2], 6)


def orders_data(rig: Rig) -> list[dict[str, Any]]:
    """Pieces far to near, from each frame on in which the order changes."""
    runs: list[dict[str, Any]] = []
    for frame, depth in enumerate(rig.depth):
        pieces = np.argsort(depth, kind="stable").tolist()
        if not runs or runs[-1]["pieces"] != pieces:
            runs.append({"frame": frame, "pieces": pieces})
    return runs


def pose_data(pose: Pose, fine: int) -> dict[str, list[float]]:
    """One pose or an action, `fine` decimals for lengths; flat lists."""
    return {
        "root": _flat(pose.root, fine),
        "turns": _flat(pose.turns, DIGITS),
        "scales": _flat(pose.scales, DIGITS),
    }


def _flat(values: Floats, decimals: int) -> list[float]:
    return [float(v) for v in (np.round(values, decimals) + 0.0).ravel()]
