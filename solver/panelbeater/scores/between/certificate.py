"""Halves the frames until distances and motion bounds exclude that anything goes wrong.

In the manner of conservative advancement (Mirtich 1996), but for all shapes at once and for
contacts that must last as well as for those that must not come about.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import shapely

from panelbeater.scores.arrays import Flags
from panelbeater.scores.between.jumps import jumps
from panelbeater.scores.between.moment import Fault, Moment, Sole, View
from panelbeater.scores.between.motion import Allowed, Motion, Stance
from panelbeater.scores.between.span import Span
from panelbeater.scores.result import Between, Break
from panelbeater.terms.arrays import Floats, Ints

FINEST = 10
"""Halvings of a frame: a first moment is told to 1/1024 of it."""
Check = tuple[Callable[[Moment], tuple[Fault, ...]], Callable[[Span, Floats], bool]]
CHECKS: dict[str, Check] = {
    "float": (Moment.floats, Span.is_held),
    "clash": (Moment.clashes, Span.is_apart),
    "ground": (Moment.sinks, Span.is_above),
    "slide": (Moment.slides, Span.is_planted),
}
"""What is wrong at a moment, and when a span is free of it."""
Found = dict[tuple[int, str], tuple[float, float, tuple[Fault, ...]]]
"""Frame and check: the first moment found at which something is wrong; and one well within
the fault, with what is wrong there."""


def certify(
    motion: Motion,
    pieces: Sequence[str],
    bones: Sequence[str],
    allowed: Allowed,
    stances: Sequence[Stance] = (),
) -> Between:
    """At every moment between frames nothing floats, sinks, clashes, slides or jumps to the
    front; or the first moment after each frame at which something does.

    pieces, bones : ids in the order of `motion`. stances : when feet stand planted.
    Grows with frames x shapes, and with how near its limits a shot goes.
    """
    names = (*pieces, *(f"bone {bone}" for bone in bones))
    soles = [(stance, _sole(motion, len(pieces), stance, allowed)) for stance in stances]
    views = [
        View(
            seen, depth, len(bones), allowed,
            tuple(sole for s, sole in soles if s.start <= frame < s.stop),
        )
        for frame, (seen, depth) in enumerate(
            zip(motion.visible(), motion.depth(), strict=True)
        )
    ]  # fmt: skip
    spans = _frames(motion, views)
    popped = [
        ("pop", Break((after.start.time,), tuple(names[i] for i in pair), words))
        for before, after in itertools.pairwise(spans)
        for pair, words in jumps(before, after)
    ]
    found: Found = {}
    n_moments = len(views)
    for span in spans:
        for moment in (span.start, span.stop):
            _look(moment, span.checks, found)
    for _ in range(FINEST):
        spans = _still_open(motion, spans, found)
        middles = _moments(
            motion, views,
            np.array([(span.start.time + span.stop.time) / 2 for span in spans]),
            np.array([span.frame for span in spans], dtype=np.int64),
            [span.held for span in spans],
        )  # fmt: skip
        n_moments += len(middles)
        for span, middle in zip(spans, middles, strict=True):
            _look(middle, span.checks, found)
        spans = [
            half
            for span, middle in zip(spans, middles, strict=True)
            for half in (replace(span, stop=middle), replace(span, start=middle))
        ]
    unsure = {
        (span.frame, check)
        for span in _still_open(motion, spans, found)
        for check in span.checks
        if (span.frame, check) not in found
    }
    broken = [
        (check, Break(tuple(sorted({first, at})), tuple(names[i] for i in shapes), words))
        for (_, check), (first, at, faults) in sorted(found.items())
        for shapes, words in faults
        # The frames' own promises tell what is wrong at whole frames.
        if first % 1 or check == "slide"
    ]
    return Between(n_moments, tuple(popped + broken), tuple(sorted(unsure)))


def _sole(motion: Motion, n_pieces: int, stance: Stance, allowed: Allowed) -> Sole:
    """What of the foot lies on the ground where it is planted."""
    at = np.array([stance.start])
    shape = n_pieces + stance.bone
    xy = shapely.get_coordinates(motion.shapes(at.astype(np.float64), at)[0][shape])
    spots = np.flatnonzero(xy[:, 1] >= xy[:, 1].max() - allowed.sole)
    return Sole(shape, spots, xy[spots, 0])


def _look(moment: Moment, checks: Sequence[str], found: Found) -> None:
    for check in checks:
        key = (moment.frame, check)
        if key in found and found[key][0] <= moment.time:
            continue
        if faults := CHECKS[check][0](moment):
            _, at, worst = found.get(key, (0.0, moment.time, faults))
            found[key] = (moment.time, at, worst)


def _frames(motion: Motion, views: Sequence[View]) -> list[Span]:
    """One span from each whole frame to the next."""
    frames = np.arange(len(views) - 1)
    nothing = [np.zeros(views[0].n_pieces, dtype=np.bool_)] * len(frames)
    times = frames.astype(np.float64)
    starts = _moments(motion, views, times, frames, nothing)
    stops = _moments(motion, views, times + 1, frames, nothing)
    for stop, after in zip(stops, starts[1:], strict=False):
        if _look_alike(stop, after):  # no piece changes its look: spare the second look
            vars(stop)["contacts"] = after.contacts
    return [Span(a, b, tuple(CHECKS), a.held) for a, b in zip(starts, stops, strict=True)]


def _look_alike(one: Moment, other: Moment) -> bool:
    return bool(
        np.array_equal(one.view.visible, other.view.visible)
        and shapely.equals_exact(one.shapes, other.shapes).all()
    )


def _moments(
    motion: Motion,
    views: Sequence[View],
    times: Floats,
    frames: Ints,
    held: Sequence[Flags],
) -> list[Moment]:
    if not len(times):
        return []
    out = []
    all_shapes = motion.shapes(times, frames)
    for time, frame, shapes, known in zip(
        times.tolist(), frames.tolist(), all_shapes, held, strict=True
    ):
        drawn = np.empty(len(shapes), dtype=object)
        drawn[:] = shapes
        out.append(Moment(time, frame, drawn, views[frame], known))
    return out


def _still_open(motion: Motion, spans: list[Span], found: Found) -> list[Span]:
    """The spans, each with what its ends do not settle; none after a fault of its frame."""
    if not spans:
        return []
    ways = motion.travel(
        np.array([span.start.time for span in spans]),
        np.array([span.stop.time for span in spans]),
    )
    out = []
    for span, way in zip(spans, ways, strict=True):
        early = [
            check
            for check in span.checks
            if (span.frame, check) not in found
            or found[span.frame, check][0] > span.start.time
        ]
        if "float" in early:
            span = replace(span, held=span.held | span.tied(way))
        left = tuple(check for check in early if not CHECKS[check][1](span, way))
        if left:
            out.append(replace(span, checks=left))
    return out
