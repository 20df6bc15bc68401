"""When a piece changes its size: in frames in which nobody can tell."""

from __future__ import annotations

import numpy as np

from panelbeater.geometry.frames import apply
from panelbeater.paths.gate import GateOptions, frame_width, open_gates
from panelbeater.terms.arrays import Flags, Floats
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.rig import Rig, Sample

HIDDEN_CHANGE = 0.095
"""Largest |ln scale ratio| a frame that still goes unnoticed (0.10 in metrics.md)."""


def hidden_rooms(rig: Rig, sample: Sample) -> Floats:
    """(n_pieces,), how much change of size each way hides, |ln scale ratio|.

    sample : the rig at every whole frame.
    """
    pieces, placed = rig.drawing.pieces, sample.stage_from_piece
    bones = np.array([BONE_IDS.index(track.bone) for track in rig.tracks])
    on_bone = sample.stage_from_bone[:, bones]  # (f, p, 3, 3)
    centres = placed[..., :2, 2]
    rides = on_bone[1:] @ np.linalg.inv(on_bone[:-1])
    ridden = apply(rides, centres[:-1, :, None])[:, :, 0] - centres[:-1]
    areas = np.array([piece.outline.area for piece in pieces])
    gates = open_gates(
        centres, ridden, bones, (areas * np.linalg.det(placed[..., :2, :2]))[:-1],
        frame_width(rig.drawing.silhouette, rig.figure.silhouette), GateOptions(),
    )  # fmt: skip
    rooms: Floats = HIDDEN_CHANGE * gates.sum(axis=0)
    return rooms


def hidden_progress(changes: Floats, gates: Flags, speeds: Floats, moves: Flags) -> Floats:
    """(n_frames, n_pieces) share of its change of size each piece has made, 0 to 1.

    changes : (n_pieces,), how much there is to do: |ln scale ratio|.
    gates : (n_steps, n_pieces), steps in which the change is hidden.
    speeds : (n_steps, n_pieces), shares of the frame's width.
    moves : (n_steps, n_pieces), steps of the piece's own move.
    The change swells and ebbs within each run of open steps, those of the piece's own move
    first, never faster than goes unnoticed. What finds no room there goes where the piece
    is fastest.
    """
    n_steps, n_pieces = gates.shape
    out = np.zeros((n_steps + 1, n_pieces))
    for i in range(n_pieces):
        cap = HIDDEN_CHANGE / max(float(changes[i]), 1e-9)
        rate = np.zeros(n_steps)
        for allowed in (gates[:, i] & moves[:, i], gates[:, i]):
            rate += filled(
                _tents(allowed), np.where(allowed, cap - rate, 0.0), 1.0 - rate.sum()
            )
        left = 1.0 - rate.sum()
        if left > 1e-12:
            rate += left * _spill(speeds[:, i], moves[:, i], gates[:, i])
        out[1:, i] = np.cumsum(rate)
        out[:, i] /= out[-1, i]
        done = np.flatnonzero(out[:, i] >= 1.0 - 1e-12)
        out[done[0] :, i] = 1.0
    return out


def _tents(flags: Flags) -> Floats:
    """(n,), distance of each open step from the nearest closed one."""
    out = np.zeros(len(flags))
    run = 0.0
    for at, flag in enumerate(flags):
        run = run + 1.0 if flag else 0.0
        out[at] = run
    run = 0.0
    for at in range(len(flags) - 1, -1, -1):
        run = run + 1.0 if flags[at] else 0.0
        out[at] = min(out[at], run)
    return out


def filled(weights: Floats, caps: Floats, amount: float) -> Floats:
    """Shares of `amount` along the weights, none above its cap; less when caps are low."""
    if amount <= 1e-12 or not (weights > 0).any():
        return np.zeros_like(weights)
    if caps[weights > 0].sum() <= amount:
        return np.where(weights > 0, caps, 0.0)
    low, high = 0.0, 1.0
    while np.minimum(high * weights, caps).sum() < amount:
        high *= 2.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if np.minimum(middle * weights, caps).sum() < amount:
            low = middle
        else:
            high = middle
    return np.minimum(high * weights, caps)


def _spill(speed: Floats, moves: Flags, gates: Flags) -> Floats:
    """(n_steps,), sums to 1: where a piece moves fast, best within its own move.

    Never in open steps, which hold as much as goes unnoticed: more would show all of it.
    """
    for weight in (speed * (moves & ~gates), speed * ~gates, 1.0 * ~gates, 1.0 + speed):
        if weight.sum() > 0:
            break
    weight = np.where(weight >= 0.5 * weight.max(), weight, 0.0)
    out: Floats = weight / weight.sum()
    return out
