"""The whole verdict on a finished shot, from its sampled frames alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import shapely

from panelbeater.errors import DrawingError
from panelbeater.scores import layout, motion, promises
from panelbeater.scores.between import Allowed, Motion, Stance, certify
from panelbeater.scores.limits import STANDARD, Limits
from panelbeater.scores.motion import Drawings
from panelbeater.scores.result import Between, Score, Scores
from panelbeater.scores.shot import ROUNDING, Shot, same_ends
from panelbeater.scores.tracks import Tracks, lay_out

_LAYOUT: tuple[Callable[[Tracks], tuple[Score, ...]], ...] = (
    layout.score_coverage,
    layout.score_own_region,
    layout.score_bend,
    layout.score_piled,
    layout.score_kept,
    layout.score_signature,
    layout.score_symmetry,
    layout.score_silhouette,
)
_DRAWING_BY_DRAWING: tuple[Callable[[Drawings], tuple[Score, ...]], ...] = (
    motion.score_movers,
    motion.score_load,
    motion.score_secrecy,
    motion.score_step,
    motion.score_judder,
    motion.score_ease,
    motion.score_arc,
    motion.score_jerk,
)
_FRAME_BY_FRAME: tuple[Callable[[Tracks], tuple[Score, ...]], ...] = (
    motion.score_hold,
    motion.score_landmarks,
    motion.score_outlines,
    motion.score_bare,
)
_SLOW = (layout.score_bend, layout.score_symmetry, motion.score_bare)
"""Measures that take as long as all others together, so that trials do without them."""


def score_shot(
    shot: Shot,
    *,
    half_frames: Shot | None = None,
    limits: Limits = STANDARD,
    allowances: Mapping[str, tuple[float, float, float]] | None = None,
    frame_width: float | None = None,
    earlier: tuple[Shot, Scores] | None = None,
    quick: bool = False,
    stills: bool = False,
    between: Motion | None = None,
) -> Scores:
    """Judge every promise and measure every score of metrics.md that frames can show.

    Parameters
    ----------
    shot : the frames, numbered 0, 1, 2, ...
    half_frames : the moments between, numbered 0.5, 1.5, ...; used for clashes.
    limits : thresholds.
    allowances : piece id to smallest end scale, largest end scale, smallest scale at any
        frame; pieces left out get the thresholds' own.
    frame_width : W, drawing units; without it as `lay_out` says.
    earlier : a shot judged before with the same limits and allowances, and its verdict;
        layout scores are taken over from it where both ends of the shot are the same.
    quick : leave out bend test, symmetry and bare body, which are slow.
    stills : the frames are picked ones of a shot, so no motion is measured.
    between : the motion the frames were taken from, to certify what holds between them;
        it counts frames as the shot plays. One that shows other frames certifies nothing.

    Raises `DrawingError` when the two shots do not show the same pieces.
    """
    if half_frames is not None and _ids(half_frames) != _ids(shot):
        raise DrawingError("the half frames show other pieces than the frames")
    # A shot that plays back to the vehicle is judged from the vehicle, too: what is true of
    # a motion is true of the same motion seen backwards.
    tracks = lay_out(
        shot.from_vehicle, limits, allowances=allowances, frame_width=frame_width
    )
    half = None
    if half_frames is not None:
        half = lay_out(
            half_frames.from_vehicle, limits,
            allowances=allowances, frame_width=tracks.width,
        )  # fmt: skip
    judged = (
        promises.judge_vehicle(tracks),
        promises.judge_missing(tracks),
        promises.judge_leak(tracks),
        promises.judge_float(tracks),
        promises.judge_clash(tracks, half),
        promises.judge_pop(tracks),
        promises.judge_landing(tracks),
        promises.judge_budget(tracks),
        promises.judge_ground(tracks),
    )
    return Scores(
        promises=tuple(promises.located(promise, tracks, half) for promise in judged),
        layout=_layout(shot, tracks, earlier, quick=quick),
        motion=() if stills else _motion(shot, tracks, quick=quick),
        between=None if between is None else _certified(tracks, between),
    )


def _certified(tracks: Tracks, motion: Motion) -> Between | None:
    if not _passes_through(tracks, motion):
        return None
    limits = tracks.limits
    allowed = Allowed(
        body_contact=limits.body_contact * tracks.height,
        piece_contact=limits.piece_contact * tracks.height,
        floor=tracks.shot.ground + limits.below_ground * tracks.height,
        clash_area=limits.clash * tracks.diagonal**2,
        pop=limits.pop,
        slide=limits.foot_slide * tracks.height,
        sole=limits.ground_contact * tracks.height,
    )
    bones = [bone.id for bone in tracks.shot.frames[0].bones]
    stances = [
        Stance(bones.index(name), *sorted((start, stop)))
        for name, start, stop in promises.stances(tracks)
    ]
    return certify(motion, tracks.piece_ids, bones, allowed, stances)


def _passes_through(tracks: Tracks, motion: Motion) -> bool:
    """True when the motion shows these frames: a certificate of another says nothing."""
    shown = motion.shapes(tracks.frames, tracks.frames.astype(np.int64))
    n = len(tracks.piece_ids)
    return len(shown) == len(motion.visible()) and all(
        shapely.equals_exact(row[:n], drawn, ROUNDING * tracks.height).all()
        for row, drawn in zip(shown, tracks.drawn, strict=True)
    )


def _layout(
    shot: Shot,
    tracks: Tracks,
    earlier: tuple[Shot, Scores] | None,
    *,
    quick: bool,
) -> tuple[Score, ...]:
    # Layout is judged on the first and the last frame alone.
    if earlier and same_ends(shot, earlier[0]):
        return earlier[1].layout
    measures = [m for m in _LAYOUT if not (quick and m in _SLOW)]
    return tuple(score for measure in measures for score in measure(tracks))


def _motion(shot: Shot, tracks: Tracks, *, quick: bool) -> tuple[Score, ...]:
    drawings = motion.lay_drawings(tracks)
    by_frame = [m for m in _FRAME_BY_FRAME if not (quick and m in _SLOW)]
    scores = (
        *(score for measure in _DRAWING_BY_DRAWING for score in measure(drawings)),
        *(score for measure in by_frame for score in measure(tracks)),
    )
    return tuple(_as_it_plays(score, shot) for score in scores)


def _as_it_plays(score: Score, shot: Shot) -> Score:
    """A score whose values a frame follow the shot as it is shown."""
    if score.series is None or not shot.reverse:
        return score
    return replace(score, series=score.series[::-1])


def _ids(shot: Shot) -> list[str]:
    return [piece.id for piece in shot.pieces]
