"""Each piece in the frame of the bone that carries it, from drawn spot to landing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from panelbeater.geometry.frames import channels, moved, polar, rigid
from panelbeater.kinematics.chain import Skeleton, place_bones
from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.paths.options import PathOptions
from panelbeater.terms.arrays import Affines, Floats, Ints
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action
from panelbeater.terms.timing import Schedule


HIDDEN_FROM = 0.22
"""Share of a move before and after which its size stands still: speed is under half its peak."""


@dataclass(frozen=True, slots=True, eq=False)
class Rides:
    """Both ends of every piece's blend, in its bone's frame."""

    bones: Ints
    """(n_pieces,)"""
    first: Floats
    """(n_pieces, 6): x, y, turn, sxx, sxy, syy at u = 0."""
    last: Floats
    """(n_pieces, 6) at u = 1."""
    frames: Affines
    """(n_frames, n_bones, 3, 3) stage_from_bone, rigid."""

    @property
    def travel(self) -> Floats:
        """(n_pieces,): distance gone in the bone's frame, drawing units."""
        out: Floats = np.hypot(*(self.last[:, :2] - self.first[:, :2]).T)
        return out


def find_rides(
    drawing: Drawing, skeleton: Skeleton, action: Action, assignment: Assignment
) -> Rides:
    """Where each piece starts and lands on its bone.

    The turn's branch is chosen so that the piece turns less than half a turn on the stage,
    whatever its bone does meanwhile.
    """
    origins, angles = place_bones(skeleton, action.pose)  # (f, b, 2), (f, b)
    frames = rigid(origins, angles)
    bones = np.array([BONE_IDS.index(cover.region) for cover in assignment.covers])
    first, last = np.empty((len(bones), 6)), np.empty((len(bones), 6))
    for i, (piece, cover) in enumerate(zip(drawing.pieces, assignment.covers, strict=True)):
        bone, centre = bones[i], piece.outline.centroid
        first[i] = channels(np.linalg.inv(frames[0, bone]) @ moved(centre.x, centre.y))
        last[i] = channels(np.linalg.inv(frames[-1, bone]) @ cover.stage_from_piece)
        first[i, 2] = -angles[0, bone]
        on_stage = polar(cover.stage_from_piece[:2, :2])[0]
        last[i, 2] = on_stage - angles[-1, bone]
    return Rides(bones, first, last, frames)


def blend(rides: Rides, schedule: Schedule, n_frames: int, dips: Floats) -> Floats:
    """(n_frames, n_pieces, 6): every channel eased from first to last in the piece's own
    time.

    Turn and stretch are joined separately (polar decomposition), so a turning piece keeps
    its area: Alexa et al. 2000, section 3. dips : (n_pieces,), share of size hidden in
    mid-motion.
    """
    starts = np.array([move.start for move in schedule.moves])
    ends = np.array([move.end for move in schedule.moves])
    times = np.arange(n_frames, dtype=np.float64)[:, None]
    share = (times - starts) / (ends - starts)
    u = minimum_jerk(share)[..., None]  # (f, p, 1)
    values = (1 - u) * rides.first + u * rides.last
    # Size and shape change only in the fast middle of the move, where the eye cannot tell.
    quick = minimum_jerk((share - HIDDEN_FROM) / (1 - 2 * HIDDEN_FROM))[..., None]
    values[..., 3:] = (1 - quick) * rides.first[:, 3:] + quick * rides.last[:, 3:]
    values[..., 3:] *= 1 - dips[:, None] * 16 * (quick * (1 - quick)) ** 2
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
