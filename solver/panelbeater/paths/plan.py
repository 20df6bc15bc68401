"""Routes every piece and records its ride as keys on its bone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.frames import apply, from_channels, rigid
from panelbeater.kinematics.chain import Skeleton, place_bones
from panelbeater.kinematics.ease import WITH_LIMB, minimum_jerk
from panelbeater.kinematics.moments import pose_between, with_between
from panelbeater.paths.changes import bending_span, own_outlines, swap_frame
from panelbeater.paths.clear import find_clearances
from panelbeater.paths.crowd import PARTS, Crowd
from panelbeater.paths.gate import GateOptions, open_gates
from panelbeater.paths.lead import lead_pieces
from panelbeater.paths.options import PathOptions
from panelbeater.paths.ride import Rides, blend, calming, stretches
from panelbeater.paths.sizes import hidden_progress
from panelbeater.paths.waiting import bodies_by_frame
from panelbeater.terms.arrays import Affines, Flags, Floats, Points
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action
from panelbeater.terms.rig import Track
from panelbeater.terms.timing import FrameSpan, Schedule, ShotOptions


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

    Every path starts as a straight ride from the waiting bone to a place on its bone, less
    its jolts, and is then led past whatever it would float beside, sink into, or was asked
    to go round. Sizes change where the finished paths hide it, so the two take turns.
    """
    options = options or PathOptions()
    covers = assignment.covers
    values = np.zeros((shot.n_frames, len(covers), 6))
    values[..., :3] = blend(rides, schedule, shot.n_frames, ease=shot.ease)
    on_bone = rides.frames[:, rides.bones]  # (f, p, 3, 3)
    way = apply(on_bone, values[:, :, None, :2])[:, :, 0]
    if shot.ease in ("minimum-jerk", WITH_LIMB):  # others want jolts
        calm = calming(way, schedule.moves, options.calm_frames)
        way, values[..., :2] = way + calm, values[..., :2] + _on_bones(on_bone, calm)
    straight = values[..., :2].copy()
    spans = [bending_span(move) for move in schedule.moves]
    swaps = [
        swap_frame(way[:, i], spans[i]) if piece.redrawn else None
        for i, piece in enumerate(drawing.pieces)
    ]
    outlines = own_outlines(
        drawing, covers, spans, swaps, shot.n_frames, tolerance=0.0003 * height
    )
    moments = pose_between(action.pose, PARTS)
    bodies = bodies_by_frame(skeleton, moments)
    joints, turns = place_bones(skeleton, moments)
    joints, turns = joints[:, rides.bones], turns[:, rides.bones]  # (n_moments, p)
    areas = np.array([piece.outline.area for piece in drawing.pieces])
    is_led = np.zeros(len(covers), dtype=np.bool_)
    names = [piece.id for piece in drawing.pieces]
    wanted = assignment.asked.clear
    for turn in range(options.n_turns):
        progress = _progress(values, rides, schedule, areas)
        values[..., 3:] = stretches(rides.last, progress)
        values[..., :2] = straight
        shares = _shares_between(values, is_led, shot)
        riding = from_channels(with_between(values, PARTS, shares[..., None]))
        placed = rigid(joints, turns) @ riding
        crowd = Crowd(outlines, placed, bodies, ground, height, turns, shares)
        clear = find_clearances(wanted, names, crowd, options)
        moves = lead_pieces(
            crowd, clear, shot.moving.start, shot.moving.stop, options, effort,
            fine=turn == options.n_turns - 1,
        )  # fmt: skip
        values[..., :2] += _on_bones(on_bone, moves)
        is_led |= moves.any(axis=(0, 2))
    return tuple(
        replace(
            _track(
                cover.piece, BONE_IDS[rides.bones[i]], values[:, i],
                _span(values[:, i], shot, is_led=bool(is_led[i])),
            ),
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


def _shares_between(values: Floats, is_led: Flags, shot: ShotOptions) -> Floats:
    """(n_frames - 1, PARTS - 1, n_pieces), how far from one key to the next a piece has
    come by each moment between their frames, by the ease of its track; one that is led on
    a detour moves, if ever so little, through the whole moving part.
    """
    parts = np.arange(1, PARTS) / PARTS
    out = np.tile(parts[:, None], (len(values) - 1, 1, len(is_led)))
    for piece in range(len(is_led)):
        span = _span(values[:, piece], shot, is_led=bool(is_led[piece]))
        at = np.arange(span.stop - span.start + 1)
        u = minimum_jerk(at / at[-1])
        between = minimum_jerk((at[:-1, None] + parts) / at[-1])
        come = (between - u[:-1, None]) / np.diff(u)[:, None]
        out[span.start : span.stop, :, piece] = come
    return out


def _stirring(values: Floats) -> FrameSpan:
    """From the last still frame before a piece moves on its bone to the first one after."""
    stirs = np.abs(np.diff(values, axis=0)).max(axis=1) > 1e-12  # (n_frames - 1,)
    frames = np.flatnonzero(stirs)
    return (
        FrameSpan(int(frames[0]), int(frames[-1]) + 1) if len(frames) else FrameSpan(0, 1)
    )


def _span(values: Floats, shot: ShotOptions, *, is_led: bool) -> FrameSpan:
    """The span of a piece's track: where it stirs, and for one that was led, be it on an
    earlier turn only, the whole moving part.
    """
    stirs = _stirring(values)
    if not is_led:
        return stirs
    first, last = max(shot.moving.start - 1, 0), shot.moving.stop
    return FrameSpan(min(first, stirs.start), max(last, stirs.stop))


def _track(piece: str, bone: str, values: Floats, span: FrameSpan) -> Track:
    """Keys on every frame of its span.

    The ease is the quintic of the rig equation; keys sit at the u of their frames, so the
    rig passes through every planned placement.
    """
    start, end = span.start, span.stop
    at = np.arange(start, end + 1)
    u = minimum_jerk((at - start) / (end - start))
    return Track(piece, bone, start, end, u, values[start : end + 1])
