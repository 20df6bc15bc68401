"""Only some limbs open: each swings out of the vehicle, all else stays folded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

import numpy as np
import shapely

from panelbeater.geometry.frames import map_shape
from panelbeater.geometry.overlay import joined, without
from panelbeater.geometry.stage import laid_outline
from panelbeater.kinematics.chain import (
    PARENTS,
    Skeleton,
    bodies_on_stage,
    stage_from_bones,
)
from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.kinematics.limits import turn_limits
from panelbeater.kinematics.moments import with_between
from panelbeater.terms.arrays import Floats
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing, Shape
from panelbeater.terms.figure import BONE_IDS, BONE_TREE
from panelbeater.terms.pose import Action, Fold, Pose
from panelbeater.terms.timing import FrameSpan, ShotOptions
from panelbeater.unfold.ground import sunk

N_WAYS = 73
"""Ways the first bone may point that are tried: every five degrees."""
SHARE, LAG = 0.6, 0.08
"""A limb opens within this share of the moving part, each next bone so much later."""
SUNK = 1000.0
"""What sinks into the ground, as a share of the limb's length, costs this much against what
shows: a promise goes before a good view."""


def open_limbs(
    skeleton: Skeleton,
    fold: Fold,
    drawing: Drawing,
    assignment: Assignment,
    *,
    ground: float,
    shot: ShotOptions,
) -> Action:
    """The limbs of `shot.only` stretch, one after the other, to where most of them shows
    and nothing that they wear reaches into the ground.

    Every other bone stays as it is folded, so what it carries stays the vehicle.
    """
    spans = [FrameSpan(shot.moving.start, shot.moving.start + 1)] * len(BONE_IDS)
    end, worn = fold.pose, _worn(skeleton, drawing, assignment)
    shares = np.zeros((shot.n_frames, len(BONE_IDS)))  # of each bone's way
    for place, limb in enumerate(shot.only):
        bones = [i for i, (_, _, controller) in enumerate(BONE_TREE) if controller == limb]
        late = (1.0 - SHARE - 2 * LAG) * place / max(len(shot.only) - 1, 1)
        for link, bone in enumerate(bones):
            shares[:, bone], spans[bone] = _opening(shot, late + LAG * link)
        end = _stretched(skeleton, fold, end, bones, shares, drawing.silhouette, worn,
                         ground)  # fmt: skip
    return Action(_between(fold.pose, end, shares), tuple(spans))


def _opening(shot: ShotOptions, late: float) -> tuple[Floats, FrameSpan]:
    """Eased progress (n_frames,) of a bone that starts at this share, and its span."""
    length = shot.moving.stop - shot.moving.start
    begin = shot.moving.start + late * length
    stop = min(begin + SHARE * length, float(shot.moving.stop))
    frames = np.arange(shot.n_frames, dtype=np.float64)
    span = FrameSpan(int(np.floor(begin)), int(np.ceil(stop)) + 1)
    return minimum_jerk((frames - begin) / (stop - begin)), span


def _between(begin: Pose, end: Pose, shares: Floats) -> Pose:
    """The way from one pose to another, each bone at its own share (n_frames, n_bones)."""
    u = shares[..., None]
    return Pose(
        np.tile(begin.root, (len(shares), 1)),
        begin.turns + shares * (end.turns - begin.turns),
        begin.scales + u * (end.scales - begin.scales),
    )


def _worn(skeleton: Skeleton, drawing: Drawing, assignment: Assignment) -> Skeleton:
    """The skeleton with, for each bare body, the hull of it and of the pieces laid on it:
    as low as either.
    """
    standing = np.linalg.inv(stage_from_bones(skeleton, skeleton.rest))
    parts = [[body] for body in skeleton.bodies]
    for piece, cover in zip(drawing.pieces, assignment.covers, strict=True):
        bone = BONE_IDS.index(cover.region)
        parts[bone].append(map_shape(standing[bone], laid_outline(piece, cover)))
    hulls = [shapely.convex_hull(shapely.geometrycollections(part)) for part in parts]
    return replace(skeleton, bodies=cast("tuple[Shape, ...]", tuple(hulls)))


def _stretched(
    skeleton: Skeleton, fold: Fold, end: Pose, bones: Sequence[int], shares: Floats,
    vehicle: Shape, worn: Skeleton, ground: float,
) -> Pose:  # fmt: skip
    """`end` with the limb drawn full size, its joints as standing, and its first bone
    turned to where most of it shows beside the vehicle, above ground on the whole way.
    """
    turns, scales = end.turns.copy(), end.scales.copy()
    turns[bones], scales[bones] = skeleton.rest.turns[bones], 1.0
    first = next(bone for bone in bones if PARENTS[bone] not in bones)
    reach = turn_limits()[first]
    moments = with_between(shares, 2)  # frames and half-ways
    best, found = -np.inf, end
    for way in np.linspace(-reach, reach, N_WAYS):
        tried = Pose(end.root, turns.copy(), scales)
        tried.turns[first] += way
        bodies = bodies_on_stage(skeleton, tried)
        limb = joined([bodies[bone] for bone in bones])
        # Of ways that show alike the least turn from the standing one looks natural.
        worth = without(limb, vehicle).area / limb.area - 0.02 * abs(way)
        if worth <= best:
            continue
        deep = sunk(skeleton, _between(fold.pose, tried, moments), ground, bones).max()
        # On the way pieces are lifted out of the ground; where they land they must fit.
        deep = max(deep, sunk(worn, _between(fold.pose, tried, np.ones_like(moments[:1])),
                              ground, bones)[0])  # fmt: skip
        worth -= SUNK * float(deep) / max(skeleton.lengths[bones].sum(), 1e-9)
        if worth > best:
            best, found = worth, tried
    return found
