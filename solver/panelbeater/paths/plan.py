"""Routes every piece and records its ride as keys on its bone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.frames import from_channels
from panelbeater.kinematics.chain import Skeleton, bodies_on_stage
from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.paths.changes import bending_span, own_outlines, swap_frame
from panelbeater.paths.options import PathOptions
from panelbeater.paths.ride import Rides, blend, dip_depths
from panelbeater.paths.support import Crowd, hold_together
from panelbeater.terms.arrays import Floats
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action, Pose
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

    Every path starts as a straight ride in its bone's frame, which is an arc on the stage,
    and is then drawn to the body wherever it would float and up wherever it would sink.
    """
    options = options or PathOptions()
    dips = dip_depths(drawing, rides, assignment, height, options)
    values = blend(rides, schedule, shot.n_frames, dips, ease=shot.ease)  # (f, p, 6)
    on_bone = rides.frames[:, rides.bones]  # (f, p, 3, 3)
    placed = on_bone @ from_channels(values)
    bodies = tuple(
        bodies_on_stage(skeleton, Pose(root, turns, scales))
        for root, turns, scales in zip(
            action.pose.root, action.pose.turns, action.pose.scales, strict=True
        )
    )
    spans = [bending_span(move) for move in schedule.moves]
    swaps = [
        swap_frame(placed[:, i, :2, 2], spans[i]) if piece.redrawn else None
        for i, piece in enumerate(drawing.pieces)
    ]
    outlines = own_outlines(
        drawing, assignment.covers, spans, swaps, shot.n_frames, tolerance=0.0003 * height
    )
    crowd = Crowd(outlines, placed, bodies, ground, height)
    span = shot.moving
    moves = hold_together(crowd, span.start, span.stop, options, effort)
    turned_back = np.swapaxes(on_bone[..., :2, :2], -1, -2)
    values[..., :2] += np.einsum("fpij,fpj->fpi", turned_back, moves)
    return tuple(
        replace(
            _track(cover.piece, BONE_IDS[rides.bones[i]], values[:, i]),
            bend=cover.bend, bending=spans[i], swap=swaps[i],
        )
        for i, cover in enumerate(assignment.covers)
    )  # fmt: skip


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
