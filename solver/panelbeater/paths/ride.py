"""Each piece in the frame of the bone that carries it, from drawn spot to landing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from panelbeater.geometry.frames import apply, channels, polar, rigid
from panelbeater.geometry.overlay import shared_areas
from panelbeater.kinematics.chain import Skeleton, bodies_on_stage, place_bones
from panelbeater.kinematics.ease import eased, minimum_jerk
from panelbeater.paths.options import PathOptions
from panelbeater.terms.arrays import Affines, Floats, Ints, Points
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing, Shape
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action, Pose
from panelbeater.terms.timing import Schedule

HIDDEN_FROM = 0.22
"""Share of a move before and after which its size stands still: speed is under half its
peak.
"""


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
    angles: Floats
    """(n_frames, n_bones), stage angles of the bones without jumps."""

    @property
    def travel(self) -> Floats:
        """(n_pieces,): distance from the drawn pivot to the folded landing place."""
        landing = apply(self.frames[0, self.bones], self.last[:, None, :2])[:, 0]
        out: Floats = np.hypot(*(landing - self.drawn).T)
        return out


def find_rides(
    drawing: Drawing, skeleton: Skeleton, action: Action, assignment: Assignment
) -> Rides:
    """Where each piece waits and where it lands.

    The turn's branch is chosen so that the piece ends less than half a turn from how it was
    drawn, whatever its bone does meanwhile.
    """
    origins, angles = place_bones(skeleton, action.pose)  # (f, b, 2), (f, b)
    frames = rigid(origins, angles)
    bones = np.array([BONE_IDS.index(cover.region) for cover in assignment.covers])
    stand = np.array([cover.stage_from_piece for cover in assignment.covers])
    last = channels(np.linalg.inv(frames[-1, bones]) @ stand)
    last[:, 2] = polar(stand[:, :2, :2])[0] - angles[-1, bones]
    outlines = [piece.outline for piece in drawing.pieces]
    drawn = np.asarray(shapely.get_coordinates(shapely.centroid(outlines)), np.float64)
    first = Pose(action.pose.root[0], action.pose.turns[0], action.pose.scales[0])
    bodies = bodies_on_stage(skeleton, first)
    waits = np.array([_wait(o, b, bodies) for o, b in zip(outlines, bones, strict=True)])
    return Rides(bones, waits, drawn, last, frames, angles)


def _wait(outline: Shape, landing: int, bodies: Sequence[Shape]) -> int:
    """The folded bone a piece waits on: its own if that carries it, else the trunk, else
    the one it hides most of, else the nearest.
    """
    shared = shared_areas(outline, np.array(bodies, dtype=object))
    for bone in (landing, BONE_IDS.index("torso"), BONE_IDS.index("waist")):
        if shared[bone] > 0:
            return bone
    if shared.max() > 0:
        return int(shared.argmax())
    return int(shapely.distance(outline, np.array(bodies, dtype=object)).argmin())


def blend(
    rides: Rides,
    schedule: Schedule,
    n_frames: int,
    dips: Floats,
    *,
    ease: str = "minimum-jerk",
) -> Floats:
    """(n_frames, n_pieces, 6): every piece's channels in its landing bone's frame.

    On the stage a piece goes from its place on the waiting bone to its place on the landing
    bone, both of which may move meanwhile; turn and stretch are joined separately (polar
    decomposition), so a turning piece keeps its area: Alexa et al. 2000, section 3.
    dips : (n_pieces,), share of size hidden in mid-motion.
    """
    starts = np.array([move.start for move in schedule.moves])
    ends = np.array([move.end for move in schedule.moves])
    times = np.arange(n_frames, dtype=np.float64)[:, None]
    share = (times - starts) / (ends - starts)
    u = eased(ease, share)[..., None]  # (f, p, 1)
    waiting = rides.frames[:, rides.waits] @ np.linalg.inv(rides.frames[:1, rides.waits])
    here = apply(waiting, rides.drawn[:, None])[:, :, 0]  # (f, p, 2)
    on_bone = rides.frames[:, rides.bones]
    there = apply(on_bone, rides.last[:, None, :2])[:, :, 0]
    turned = rides.angles[:, rides.waits] - rides.angles[:1, rides.waits]
    landed = rides.angles[:, rides.bones] + rides.last[:, 2]
    turn = (1 - u[..., 0]) * turned + u[..., 0] * landed - rides.angles[:, rides.bones]
    bone_from_stage: Affines = np.asarray(np.linalg.inv(on_bone), dtype=np.float64)
    place = apply(bone_from_stage, ((1 - u) * here + u * there)[:, :, None])[:, :, 0]
    # Size and shape change only in the fast middle of the move, where the eye cannot tell.
    quick = minimum_jerk((share - HIDDEN_FROM) / (1 - 2 * HIDDEN_FROM))[..., None]
    size = (1 - quick) * np.array([1.0, 0.0, 1.0]) + quick * rides.last[:, 3:]
    size *= 1 - dips[:, None] * 16 * (quick * (1 - quick)) ** 2
    values: Floats = np.concatenate([place, turn[..., None], size], axis=-1)
    # Landed pieces ride exactly: rounding in the detour over the stage must not stir them.
    values = np.where(u >= 1.0, rides.last, values)
    return values


def dip_depths(
    drawing: Drawing,
    rides: Rides,
    assignment: Assignment,
    height: float,
    options: PathOptions,
) -> Floats:
    """(n_pieces,): how much each far traveller shrinks half-way, inside its allowance."""
    far = np.clip(rides.travel / height / options.dip_travel - 1.0, 0.0, 1.0)
    ends = np.array([min(1.0, cover.scale) for cover in assignment.covers])
    # Half-way the size is about the mean of both ends; the dip may not go below the
    # allowance.
    room = 1.0 - np.array([p.allowance.dip_min for p in drawing.pieces]) / (
        0.5 + 0.5 * ends
    )
    return np.minimum(options.dip_depth * far, np.maximum(0.0, 0.9 * room))
