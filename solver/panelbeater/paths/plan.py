"""Routes every piece and records its ride as keys on its bone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.frames import apply, from_channels
from panelbeater.kinematics.chain import Skeleton
from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.paths.changes import bending_span, own_outlines, swap_frame
from panelbeater.paths.gate import GateOptions, open_gates
from panelbeater.paths.options import PathOptions
from panelbeater.paths.ride import Rides, blend, stretches
from panelbeater.paths.sizes import hidden_progress
from panelbeater.paths.support import Crowd, hold_together
from panelbeater.paths.waiting import bodies_by_frame
from panelbeater.terms.arrays import Affines, Floats, Points
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action
from panelbeater.terms.rig import Track
from panelbeater.terms.timing import Schedule, ShotOptions


def plan_paths(
    drawing: Drawing,
    skeleton: Skeleton,
    action: Action,
    assignment: Assignment,
    rides: Rides,
    schedule: Schedule,
    *,
    ground: float,
    height: float,
    shot: ShotOptions,
    options: PathOptions | None = None,
    effort: Effort = QUIET,
) -> tuple[Track, ...]:
    """Tracks in the order of `Drawing.pieces`.

    Every path starts as a straight ride from the waiting bone to a place on its bone, and
    is then led past whatever it would float beside or sink into. Sizes change where the
    finished paths hide it, so the two take turns.
    """
    options = options or PathOptions()
    covers = assignment.covers
    values = np.zeros((shot.n_frames, len(covers), 6))
    values[..., :3] = blend(rides, schedule, shot.n_frames, ease=shot.ease)
    straight = values[..., :2].copy()
    on_bone = rides.frames[:, rides.bones]  # (f, p, 3, 3)
    spans = [bending_span(move) for move in schedule.moves]
    way = apply(on_bone, straight[:, :, None])[:, :, 0]
    swaps = [
        swap_frame(way[:, i], spans[i]) if piece.redrawn else None
        for i, piece in enumerate(drawing.pieces)
    ]
    outlines = own_outlines(
        drawing, covers, spans, swaps, shot.n_frames, tolerance=0.0003 * height
    )
    bodies = bodies_by_frame(skeleton, action)
    areas = np.array([piece.outline.area for piece in drawing.pieces])
    for _ in range(options.n_turns):
        progress = _progress(values, rides, schedule, areas)
        values[..., 3:] = stretches(rides.last, progress)
        values[..., :2] = straight
        crowd = Crowd(outlines, on_bone @ from_channels(values), bodies, ground, height)
        moves = hold_together(crowd, shot.moving.start, shot.moving.stop, options, effort)
        values[..., :2] += _on_bones(on_bone, moves)
        if not moves.any():
            break
    return tuple(
        replace(
            _track(cover.piece, BONE_IDS[rides.bones[i]], values[:, i]),
            bend=cover.bend, bending=spans[i], swap=swaps[i],
        )
        for i, cover in enumerate(covers)
    )  # fmt: skip


def _on_bones(on_bone: Affines, moves: Points) -> Points:
    """Stage moves (n_frames, n_pieces, 2) seen from the bones the pieces ride."""
    turned_back = np.swapaxes(on_bone[..., :2, :2], -1, -2)
    out: Points = np.einsum("fpij,fpj->fpi", turned_back, moves)
    return out


def _progress(values: Floats, rides: Rides, schedule: Schedule, areas: Floats) -> Floats:
    """(n_frames, n_pieces), how far each piece has changed its size by each frame."""
    frames = rides.frames[:, rides.bones]  # (f, p, 3, 3)
    centres = apply(frames, values[:, :, None, :2])[:, :, 0]
    ridden = apply(frames[1:], values[:-1, :, None, :2])[:, :, 0] - centres[:-1]
    sizes = np.linalg.det(from_channels(values)[..., :2, :2])
    gates = open_gates(
        centres, ridden, rides.bones, (areas * sizes)[:-1], rides.width, GateOptions()
    )
    step = np.diff(centres, axis=0)
    speeds = np.hypot(step[..., 0], step[..., 1]) / rides.width
    steps = np.arange(len(step))[:, None]
    moves = (steps >= [move.start for move in schedule.moves]) & (
        steps < [move.end for move in schedule.moves]
    )
    ends = rides.last[:, 3] * rides.last[:, 5] - rides.last[:, 4] ** 2
    return hidden_progress(0.5 * np.abs(np.log(ends)), gates, speeds, moves)


def _track(piece: str, bone: str, values: Floats) -> Track:
    """Keys on every frame between the last still one before and the first still one after.

    The ease is the quintic of the rig equation; keys sit at the u of their frames, so the
    rig passes through every planned placement.
    """
    stirs = np.abs(np.diff(values, axis=0)).max(axis=1) > 1e-12  # (f - 1,)
    frames = np.flatnonzero(stirs)
    start = int(frames[0]) if len(frames) else 0
    end = int(frames[-1]) + 1 if len(frames) else 1
    at = np.arange(start, end + 1)
    u = minimum_jerk((at - start) / (end - start))
    return Track(piece, bone, start, end, u, values[start : end + 1])
