"""Where the eye has trouble: which pieces are at fault at the worst moments."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from panelbeater.animation import ShotPlan
from panelbeater.geometry.stage import piece_outlines
from panelbeater.stress.case import Case
from panelbeater.stress.plain import say
from panelbeater.terms.arrays import Floats, Points


@dataclass(frozen=True, slots=True)
class Moment:
    """One frame worth a picture, and the pieces to light up in it."""

    frame: int
    pieces: tuple[str, ...]
    headline: str
    detail: str


def centres(plan: ShotPlan) -> Points:
    """(n_frames, n_pieces, 2), where each piece's middle stands on the stage."""
    return np.asarray(plan.sample.stage_from_piece[..., :2, 2])


def ways(plan: ShotPlan) -> Floats:
    """(n_frames, n_pieces), how far each middle goes into a frame; the first is 0."""
    steps = np.diff(centres(plan), axis=0, prepend=centres(plan)[:1])
    return np.asarray(np.linalg.norm(steps, axis=-1))


def size_changes(plan: ShotPlan) -> Floats:
    """(n_frames, n_pieces), |ln scale ratio| into a frame, weighted by the area drawn."""
    areas = np.abs(np.linalg.det(plan.sample.stage_from_piece[..., :2, :2]))
    drawn = np.array([piece.outline.area for piece in plan.rig.drawing.pieces])
    change = np.abs(np.diff(0.5 * np.log(areas), axis=0, prepend=0.5 * np.log(areas[:1])))
    return np.asarray(change * areas * drawn)


def kinks(plan: ShotPlan, still: float) -> Floats:
    """(n_frames, n_pieces), degrees a path turns at a frame; 0 where it hardly moves."""
    steps = np.diff(centres(plan), axis=0)  # (F - 1, P, 2)
    length = np.linalg.norm(steps, axis=-1)
    one, other = steps[:-1], steps[1:]
    cross = one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0]
    angle = np.degrees(np.abs(np.arctan2(cross, (one * other).sum(axis=-1))))
    angle[np.minimum(length[:-1], length[1:]) <= still] = 0.0
    return np.pad(angle, ((1, 1), (0, 0)))


def still_limit(case: Case) -> float:
    """Way into a frame below which the judge calls a piece still, drawing units."""
    x0, y0, x1, y1 = case.shot.vehicle.union(case.shot.figure).bounds
    return case.limits.moving * 1.2 * max(x1 - x0, (y1 - y0) * 16 / 9)


def worst_moments(case: Case) -> tuple[Moment, ...]:
    """Broken promises first, then what is hardest to follow; frames from 0."""
    plan = case.plan
    names = [piece.id for piece in plan.rig.drawing.pieces]
    found = [
        Moment(
            int(place.frames[0]) if place.frames else 0,
            tuple(p for p in place.pieces if p in names),
            f"promise broken: {promise.name}",
            place.detail,
        )
        for promise in case.scores.promises
        for place in promise.broken[:1]
    ]
    gone = ways(plan)
    moving = gone > still_limit(case)
    series = {s.name: s.series for s in case.scores.motion if s.series}
    busiest = int(np.argmax(series.get("tracking load", (0.0,))))
    movers = tuple(np.array(names)[moving[busiest]].tolist())
    n_groups = series.get("bundles", (0.0,) * (busiest + 1))[busiest]
    found.append(
        Moment(
            busiest,
            movers,
            "most to follow",
            f"{len(movers)} pieces move in {n_groups:.0f} groups; tracking load "
            f"{max(series.get('tracking load', (0.0,))):.2f}",
        )
    )
    frame, piece = _top(gone / _extents(plan))
    found.append(
        Moment(
            frame,
            (names[piece],),
            "longest step",
            f"{say(names[piece])} goes {gone[frame, piece] / _extents(plan)[piece]:.2f} "
            "of its own size into this frame",
        )
    )
    frame, piece = _top(kinks(plan, still_limit(case)))
    bend = kinks(plan, still_limit(case))[frame, piece]
    found.append(
        Moment(
            frame,
            (names[piece],),
            "sharpest corner",
            f"the path of {say(names[piece])} turns by {bend:.0f} degrees",
        )
    )
    change = size_changes(plan)
    if change.max() > 0:
        frame, piece = _top(change)
        found.append(
            Moment(
                frame,
                (names[piece],),
                "plainest change of size",
                f"{say(names[piece])} grows or shrinks most to the eye here",
            )
        )
    return tuple(found)


def _extents(plan: ShotPlan) -> Floats:
    """(n_pieces,), side of the square of each piece's area in the last frame."""
    last = plan.rig.shot.n_frames - 1
    return np.sqrt([shape.area for shape in piece_outlines(plan.rig, plan.sample, last)])


def _top(values: Floats) -> tuple[int, int]:
    frame, piece = np.unravel_index(int(values.argmax()), values.shape)
    return int(frame), int(piece)
