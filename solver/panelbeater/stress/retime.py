"""The same performance on another clock: held, slowed, or a piece on a new cue."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from panelbeater.animation import ShotPlan
from panelbeater.geometry.frames import channels
from panelbeater.geometry.stage import bone_outlines, piece_outlines
from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.rig import blend_at, pose_at, sample_rig
from panelbeater.terms.arrays import Floats
from panelbeater.terms.rig import Rig, Track

REACH = 8
"""Frames on either side over which a slow passage eases in and out: a third of a second."""


def on_clock(plan: ShotPlan, times: Floats) -> ShotPlan:
    """The plan with frame k showing what stood at old frame times[k]; (n_frames,), rising.

    Every key is kept; the body's action and the pieces keep step.
    """
    rig = plan.rig
    shot = replace(rig.shot, n_frames=len(times))
    tracks = tuple(_on_clock(track, times) for track in rig.tracks)
    depth = rig.depth[np.clip(np.floor(times).astype(np.int64), 0, len(rig.depth) - 1)]
    poses = tuple(
        replace(pose, frame=int(np.abs(times - pose.frame).argmin())) for pose in rig.poses
    )
    now = replace(
        rig, action=pose_at(rig.action, times), tracks=tracks, depth=depth, shot=shot,
        poses=poses,
    )  # fmt: skip
    return _on_the_ground(resampled(plan, now), times)


def resampled(plan: ShotPlan, rig: Rig) -> ShotPlan:
    """The plan with another rig, sampled at every frame of it."""
    sample = sample_rig(rig, np.arange(rig.shot.n_frames, dtype=np.float64))
    return replace(plan, rig=rig, sample=sample)


def _on_the_ground(plan: ShotPlan, times: Floats) -> ShotPlan:
    """Between two old frames joints go straight, so a foot may dip: lift the body."""
    rig, sample = plan.rig, plan.sample
    between = np.flatnonzero(np.abs(times - np.round(times)) > 1e-9).tolist()
    root = np.array(rig.action.root)
    for row in between:
        shapes = [*bone_outlines(rig, sample, row), *piece_outlines(rig, sample, row)]
        root[row, 1] -= max(0.0, max(shape.bounds[3] for shape in shapes) - rig.ground)
    action = replace(rig.action, root=root)
    return resampled(plan, replace(rig, action=action))


def lingering(n_frames: int, at: int, extra: int) -> Floats:
    """(n_frames + extra,), old times that pass frame `at` slowly, easing in and out."""
    frames = np.arange(n_frames, dtype=np.float64)
    away = np.clip(np.abs(frames[:-1] + 0.5 - at) / REACH, 0.0, 1.0)
    weight = 0.5 * (1 + np.cos(np.pi * away))  # (n_frames - 1,)
    stretch = 1.0 + extra * weight / weight.sum()
    clock = np.concatenate([[0.0], np.cumsum(stretch)])
    clock[-1] = n_frames + extra - 1  # to the digit: the last frame stays the last
    return np.interp(np.arange(n_frames + extra, dtype=np.float64), clock, frames)


def held(n_frames: int, *, first: int = 0, last: int = 0) -> Floats:
    """(n_frames + first + last,), old times with the end poses held so much longer."""
    frames = np.arange(n_frames, dtype=np.float64)
    return np.concatenate([np.zeros(first), frames, np.full(last, n_frames - 1.0)])


def on_cue(plan: ShotPlan, pieces: tuple[str, ...], by_frames: int) -> ShotPlan:
    """The plan with some pieces leaving and landing so much later (earlier if negative).

    A move never leaves the moving part of the shot: it is stopped at its edge.
    """
    tracks = []
    for track in plan.rig.tracks:
        if track.piece in pieces:
            by = room_for(plan, track, by_frames)
            track = replace(track, start=track.start + by, end=track.end + by)
        tracks.append(track)
    return resampled(plan, replace(plan.rig, tracks=tuple(tracks)))


def room_for(plan: ShotPlan, track: Track, by_frames: int) -> int:
    """How many of these frames a move can be shifted within the moving part of the shot."""
    window = plan.rig.shot.moving
    low, high = window.start - track.start, window.stop - track.end
    return max(min(by_frames, max(high, 0)), min(low, 0))


def _on_clock(track: Track, times: Floats) -> Track:
    """Keys on every frame from the last still one before to the first still one after."""
    values = channels(blend_at(track, times))
    values[:, 2] = np.unwrap(values[:, 2])
    stirs = np.flatnonzero(np.abs(np.diff(values, axis=0)).max(axis=1) > 1e-12)
    start = int(stirs[0]) if len(stirs) else 0
    end = int(stirs[-1]) + 1 if len(stirs) else 1
    at = np.arange(start, end + 1)
    u = minimum_jerk((at - start) / (end - start))
    return replace(
        track, start=start, end=end, key_u=u, key_channels=values[start : end + 1]
    )
