"""Each piece in the frame of the bone that carries it, from drawn spot to landing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from panelbeater.geometry.frames import apply, channels, polar, rigid
from panelbeater.kinematics.chain import Skeleton, place_bones, stage_from_bones
from panelbeater.kinematics.ease import eased, minimum_jerk
from panelbeater.paths.waiting import bodies_by_frame, find_waiting
from panelbeater.terms.arrays import Affines, Floats, Ints, Points
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action
from panelbeater.terms.timing import Schedule, ShotOptions, Waiting

TRUNK = [BONE_IDS.index("waist"), BONE_IDS.index("torso")]
STILL = 0.0008
"""Share of the frame's width between drawings: not yet a movement (metrics.md)."""
RISE_SPEED = 0.021
"""Share of the frame's width a frame: the rising vehicle hides changes of size."""


@dataclass(frozen=True, slots=True, eq=False)
class Rides:
    """Both ends of every piece's ride: in the closed vehicle, and on its landing bone."""

    bones: Ints
    """(n_pieces,), landing bones: the ones of the rig equation."""
    drawn: Points
    """(n_pieces, 2), pivots where they stand in the vehicle, stage frame."""
    lift: Points
    """(n_frames, 2), how far the rising body carries the vehicle that is still closed."""
    last: Floats
    """(n_pieces, 6): x, y, turn, sxx, sxy, syy on the landing bone."""
    frames: Affines
    """(n_frames, n_bones, 3, 3) stage_from_bone, rigid."""
    width: float
    """Of the shot's frame, drawing units."""
    angles: Floats
    """(n_frames, n_bones), stage angles of the bones without jumps."""
    waiting: Waiting
    """What carries the pieces that have not left yet."""

    @property
    def travel(self) -> Points:
        """(n_pieces, 2): from the place in the risen vehicle to the place on the robot."""
        landing = apply(self.frames[-1, self.bones], self.last[:, None, :2])[:, 0]
        out: Points = landing - self.drawn - self.lift[-1]
        return out

    @property
    def risen(self) -> int:
        """The frame from which pieces may leave: the vehicle has stood still for one, so
        that none turns off while it still rises.
        """
        steps = np.abs(np.diff(self.lift, axis=0)).max(axis=1)
        moving = np.flatnonzero(steps > STILL * self.width)
        return int(moving[-1]) + 2 if len(moving) else 0


def find_rides(
    drawing: Drawing,
    skeleton: Skeleton,
    action: Action,
    assignment: Assignment,
    *,
    width: float,
    shot: ShotOptions,
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
    areas = shapely.area(outlines)
    rise = np.average(stand[:, :2, 2] - drawn, axis=0, weights=areas)
    lift = _lifted(rise, origins[:, TRUNK].mean(axis=1), width, shot)
    if shot.only or shot.action == "crouch":  # the vehicle stays where it is
        lift = np.zeros_like(lift)
    waiting = find_waiting(outlines, lift, bodies_by_frame(skeleton, action), width)
    return Rides(bones, drawn, lift, last, frames, width, angles, waiting)


def _lifted(rise: Points, trunk: Points, width: float, shot: ShotOptions) -> Points:
    """(n_frames, 2): the vehicle rises as one, when the trunk does, fast enough to hide."""
    way = trunk[-1] - trunk[0]
    share = (trunk - trunk[0]) @ way / max(float(way @ way), 1e-12)
    middle = float(np.argmax(share >= 0.5))
    far = float(np.hypot(*rise))
    n = float(
        np.clip(
            1.875 * far / (RISE_SPEED * width), 8.0, shot.moving.stop - shot.moving.start
        )
    )
    start = max(float(shot.moving.start), middle - n / 2)
    times = np.arange(len(trunk), dtype=np.float64)
    return minimum_jerk((times - start) / n)[:, None] * rise


def blend(
    rides: Rides, schedule: Schedule, n_frames: int, *, ease: str = "minimum-jerk"
) -> Floats:
    """(n_frames, n_pieces, 3): x, y and turn of every piece in its landing bone's frame.

    On the stage a piece goes from its place in the lifted vehicle to its place on the
    landing bone, both of which may move meanwhile.
    """
    starts = np.array([move.start for move in schedule.moves])
    ends = np.array([move.end for move in schedule.moves])
    times = np.arange(n_frames, dtype=np.float64)[:, None]
    u = eased(ease, (times - starts) / (ends - starts))[..., None]  # (f, p, 1)
    here = rides.drawn + rides.lift[:, None]  # (f, p, 2)
    on_bone = rides.frames[:, rides.bones]
    there = apply(on_bone, rides.last[:, None, :2])[:, :, 0]
    turn = u[..., 0] * (rides.angles[:, rides.bones] + rides.last[:, 2])
    turn = turn - rides.angles[:, rides.bones]
    bone_from_stage: Affines = np.asarray(np.linalg.inv(on_bone), dtype=np.float64)
    place = apply(bone_from_stage, ((1 - u) * here + u * there)[:, :, None])[:, :, 0]
    values: Floats = np.concatenate([place, turn[..., None]], axis=-1)
    # Landed pieces ride exactly: rounding in the detour over the stage must not stir them.
    return np.where(u >= 1.0, rides.last[:, :3], values)


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
