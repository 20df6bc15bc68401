"""Each piece in the frame of the bone that carries it, from drawn spot to landing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from panelbeater.geometry.frames import apply, channels, polar, rigid
from panelbeater.kinematics.chain import (
    Skeleton,
    bodies_on_stage,
    place_bones,
    stage_from_bones,
)
from panelbeater.kinematics.ease import WITH_LIMB, eased, minimum_jerk
from panelbeater.paths.sizes import filled
from panelbeater.paths.waiting import waiting_bone
from panelbeater.terms.arrays import Affines, Floats, Ints, Points
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action, Pose
from panelbeater.terms.timing import Move, Schedule

AS_TIMED = 2
"""Frames after a piece has left and before it lands that stay as they are: spread over them
too, a jolt makes the demo flash once more in its first second, which is too often."""

QUICKEST = 1.875 / 7
"""Most of its way that a piece makes in a frame: the peak of a calm move of seven frames;
what is shorter pops."""
RAMP_FRAMES = 8.0
"""At both ends of a move the limb counts for less, rising over so many frames: it may be
under way before the piece leaves. On thirteen plans, 0 doubled the jerk of some moves."""
OWN_WAY = 0.001
"""How much of a piece's own way counts beside that of its limb, at a calm pace: it decides
where the limb keeps still."""


@dataclass(frozen=True, slots=True, eq=False)
class Rides:
    """Both ends of every piece's ride: the bone it waits on and the bone it lands on."""

    bones: Ints
    """(n_pieces,), landing bones: the ones of the rig equation."""
    waits: Ints
    """(n_pieces,), folded bones that carry the pieces until they leave."""
    drawn: Points
    """(n_pieces, 2), pivots where they stand in the vehicle, stage frame."""
    last: Floats
    """(n_pieces, 6): x, y, turn, sxx, sxy, syy on the landing bone."""
    frames: Affines
    """(n_frames, n_bones, 3, 3) stage_from_bone, rigid."""
    width: float
    """Of the shot's frame, drawing units."""
    angles: Floats
    """(n_frames, n_bones), stage angles of the bones without jumps."""

    @property
    def travel(self) -> Points:
        """(n_pieces, 2): from the drawn pivot to the folded landing place."""
        landing = apply(self.frames[0, self.bones], self.last[:, None, :2])[:, 0]
        out: Points = landing - self.drawn
        return out


def find_rides(
    drawing: Drawing,
    skeleton: Skeleton,
    action: Action,
    assignment: Assignment,
    *,
    width: float,
) -> Rides:
    """Where each piece waits and where it lands.

    The turn's branch is chosen so that the piece ends less than half a turn from how it was
    drawn, whatever its bone does meanwhile.
    """
    origins, angles = place_bones(skeleton, action.pose)  # (f, b, 2), (f, b)
    frames = rigid(origins, angles)
    bones = np.array([BONE_IDS.index(cover.region) for cover in assignment.covers])
    stand = np.array([cover.stage_from_piece for cover in assignment.covers])
    worn = np.linalg.inv(stage_from_bones(skeleton, skeleton.rest)[bones]) @ stand
    last = channels(worn)
    last[:, 2] = polar((frames[-1, bones] @ worn)[:, :2, :2])[0] - angles[-1, bones]
    outlines = [piece.outline for piece in drawing.pieces]
    drawn = np.asarray(shapely.get_coordinates(shapely.centroid(outlines)), np.float64)
    first = Pose(action.pose.root[0], action.pose.turns[0], action.pose.scales[0])
    bodies = bodies_on_stage(skeleton, first)
    waits = np.array(
        [waiting_bone(o, b, bodies) for o, b in zip(outlines, bones, strict=True)]
    )
    return Rides(bones, waits, drawn, last, frames, width, angles)


def shares_come(
    rides: Rides, schedule: Schedule, n_frames: int, *, ease: str = WITH_LIMB
) -> Floats:
    """(n_frames, n_pieces), share of its way from waiting to landing that each has made.

    With its limb, a piece has made as much of it as the place where it lands has of the way
    that goes during the move, so that nothing creeps on beside a limb that rests.
    """
    starts = np.array([move.start for move in schedule.moves])
    ends = np.array([move.end for move in schedule.moves])
    times = np.arange(n_frames, dtype=np.float64)[:, None]
    share = (times - starts) / (ends - starts)  # of the move's time
    if ease != WITH_LIMB:
        return eased(ease, share)
    there = apply(rides.frames[:, rides.bones], rides.last[:, None, :2])[:, :, 0]
    way = np.hypot(*np.moveaxis(np.diff(there, axis=0), -1, 0))  # (n_frames - 1, p)
    calm = np.diff(minimum_jerk(share), axis=0)
    travel = np.hypot(*(there[0] - rides.drawn).T)
    steps = times[:-1] + 0.5
    ramp = (np.minimum(steps - starts, ends - steps) / RAMP_FRAMES).clip(0.0, 1.0)
    weights = ramp * (way + OWN_WAY * travel * calm)
    out = np.zeros((n_frames, len(starts)))
    for piece in range(len(starts)):
        weight = weights[:, piece] if weights[:, piece].any() else calm[:, piece]
        part = filled(weight, np.where(weight > 0, QUICKEST, 0.0), 1.0)
        out[1:, piece] = np.cumsum(part) / part.sum()
    return np.where(times >= ends, 1.0, out)


def blend(
    rides: Rides, schedule: Schedule, n_frames: int, *, ease: str = WITH_LIMB
) -> Floats:
    """(n_frames, n_pieces, 3): x, y and turn of every piece in its landing bone's frame.

    On the stage a piece goes from its place on the waiting bone to its place on the landing
    bone, both of which may move meanwhile.
    """
    u = shares_come(rides, schedule, n_frames, ease=ease)[..., None]  # (f, p, 1)
    waiting = rides.frames[:, rides.waits] @ np.linalg.inv(rides.frames[:1, rides.waits])
    here = apply(waiting, rides.drawn[:, None])[:, :, 0]  # (f, p, 2)
    on_bone = rides.frames[:, rides.bones]
    there = apply(on_bone, rides.last[:, None, :2])[:, :, 0]
    turned = rides.angles[:, rides.waits] - rides.angles[:1, rides.waits]
    landed = rides.angles[:, rides.bones] + rides.last[:, 2]
    turn = (1 - u[..., 0]) * turned + u[..., 0] * landed - rides.angles[:, rides.bones]
    bone_from_stage: Affines = np.asarray(np.linalg.inv(on_bone), dtype=np.float64)
    place = apply(bone_from_stage, ((1 - u) * here + u * there)[:, :, None])[:, :, 0]
    values: Floats = np.concatenate([place, turn[..., None]], axis=-1)
    # Landed pieces ride exactly: rounding in the detour over the stage must not stir them.
    return np.where(u >= 1.0, rides.last[:, :3], values)


def calming(way: Points, moves: Sequence[Move], frames: float) -> Points:
    """(n_frames, n_pieces, 2), stage moves that take the jolts out of rides `way` while
    pieces are on their way: swings that take less than about so many `frames`.

    Least sum of squared third differences of the path, plus a little of the squared move:
    a smoothing spline, held at both ends to how the piece leaves and lands.
    """
    out = np.zeros_like(way)
    firm = (2 * np.pi / frames) ** 6
    for piece, move in enumerate(moves):
        first, last = move.start + 1 + AS_TIMED, move.end - AS_TIMED
        if first >= last:
            continue
        start, stop = max(first - 3, 0), min(last + 3, len(way))
        third = np.diff(np.eye(stop - start), n=3, axis=0)
        free = third[:, first - start : last - start]
        jolts = third @ way[start:stop, piece]
        cost = free.T @ free + firm * np.eye(free.shape[1])
        out[first:last, piece] = -np.linalg.solve(cost, free.T @ jolts)
    return out


def stretches(last: Floats, progress: Floats) -> Floats:
    """(n_frames, n_pieces, 3): sxx, sxy, syy after a share of the change in size and shape.

    Along the logarithm, so that the size changes by equal ratios for equal shares.
    """
    ends = np.stack([last[:, 3:5], last[:, 4:6]], axis=-2)  # (p, 2, 2)
    sizes, axes = np.linalg.eigh(ends)
    powers = np.exp(progress[..., None] * np.log(sizes))  # (f, p, 2)
    out = np.einsum("pij,fpj,pkj->fpik", axes, powers, axes)
    values = np.stack([out[..., 0, 0], out[..., 0, 1], out[..., 1, 1]], axis=-1)
    # To the digit at the end: a landed piece must lie as it was laid.
    return np.where(progress[..., None] >= 1.0, last[:, 3:], values)
