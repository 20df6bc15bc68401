"""Counting flashes in any one second of a rendered shot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, isfinite

import numpy as np

from panelbeater.errors import DrawingError
from panelbeater.scores.arrays import Flags
from panelbeater.scores.flash.colour import Picture, linear
from panelbeater.scores.flash.concurrent import concurrent, film_frame
from panelbeater.scores.flash.field import WHOLE_SCREEN, flashes_over_area
from panelbeater.scores.flash.transitions import GeneralTurns, RedTurns, Turned
from panelbeater.terms.arrays import Ints

FAILING_TURNS = 7
"""WCAG 2.2 SC 2.3.1: more than three flashes, a flash being a pair of opposing changes."""
CALM_FLASHES = 3
"""Flashes a second of any one spot that are wanted at most, without the area rule."""
_SPACING_S = 1.0 / 3.0
"""Broadcast guidance (ITU-R BT.1702): flashes 334 ms apart are safe, 8 frames of film."""


@dataclass(frozen=True, slots=True)
class FlashCount:
    """Flashes of one sort."""

    turns: int
    """Most alternating transitions in one second, over more than a quarter of a field."""
    turns_anywhere: int
    """The same for any single spot, however small."""
    worst_start: int
    """First frame, from 0, of the second in which `turns` was reached."""
    closest_frames: int
    """Fewest frames between leading edges of one way, over area; 0 when there are none."""

    @property
    def flashes(self) -> int:
        """Whole flashes in the worst second, area rule applied."""
        return self.turns // 2

    @property
    def flashes_anywhere(self) -> int:
        """Whole flashes in the worst second of the worst spot, without the area rule."""
        return self.turns_anywhere // 2


@dataclass(frozen=True, slots=True)
class FlashReport:
    """Verdict of the flash meter on one rendered shot."""

    general: FlashCount
    red: FlashCount
    spacing_frames: int
    """Frames that safe flashes keep between leading edges at this frame rate."""

    @property
    def fails(self) -> bool:
        """True when WCAG 2.2 SC 2.3.1 is not met."""
        return max(self.general.turns, self.red.turns) >= FAILING_TURNS

    @property
    def is_calm(self) -> bool:
        """True when no spot at all flashes more than three times a second, however small:
        what metrics.md wants beyond the area rule.
        """
        return max(c.flashes_anywhere for c in (self.general, self.red)) <= CALM_FLASHES

    @property
    def is_spaced(self) -> bool:
        """True when all flashes over area keep the spacing of broadcast guidance."""
        return all(
            count.closest_frames == 0 or count.closest_frames >= self.spacing_frames
            for count in (self.general, self.red)
        )


def measure_flashes(
    frames: Picture, fps: float, *, field: tuple[float, float] = WHOLE_SCREEN
) -> FlashReport:
    """Count general and red flashes as WCAG 2.2 SC 2.3.1 defines them.

    Transitions are counted per spot in every span of one second, those only that happen
    concurrently (the same way at one moment, see `concurrent`) over more than a quarter of
    some 10-degree field; the count that matters is the largest one that such an area
    reaches. A patterned picture that moves changes many spots one after another: it is a
    flash only where it moves so fast that over a quarter of a field changes within one
    frame of film. Fine balanced patterns, which WCAG excuses, are not excused here.

    Parameters
    ----------
    frames : (n, h, w, 3), sRGB bytes, in time order.
    fps : frames a second.
    field : height and width of the 10-degree field as shares of the picture; without it the
        picture is taken to fill the screen.

    Raises `DrawingError` for another shape or type of array, or a frame rate not above 0.
    """
    if frames.ndim != 4 or frames.shape[-1] != 3 or frames.dtype != np.uint8:
        raise DrawingError("flash meter: frames must be (n, h, w, 3) bytes")
    if 0 in frames.shape or not isfinite(fps) or fps <= 0:
        raise DrawingError("flash meter: no pictures, or a frame rate that is not above 0")
    light = linear(frames[0])
    sorts: tuple[GeneralTurns | RedTurns, ...] = (GeneralTurns(light), RedTurns(light))
    turns: tuple[list[Turned], ...] = ([], [])
    for picture in frames[1:]:
        light = linear(picture)
        for sort, found in zip(sorts, turns, strict=True):
            found.append(sort.turn(light))
    general, red = (_count(found, fps, field) for found in turns)
    return FlashReport(general, red, spacing_frames=ceil(fps * _SPACING_S - 1e-9))


def _count(turns: Sequence[Turned], fps: float, field: tuple[float, float]) -> FlashCount:
    """The worst second of one sort of transitions; turn k leads to picture k + 1."""
    if not turns:
        return FlashCount(0, 0, 0, 0)
    second = ceil(fps)
    up, down = concurrent(turns, fps, field)
    shared = [one | other for one, other in zip(up, down, strict=True)]
    now: Ints = np.zeros(turns[0].way.shape, dtype=np.int64)
    spots = now.copy()
    most = anywhere = start = 0
    for at, turned in enumerate(turns):
        now += shared[at]
        spots += turned.way != 0
        if at >= second:
            now -= shared[at - second]
            spots -= turns[at - second].way != 0
        anywhere = max(anywhere, int(spots.max()))
        while anywhere > most and flashes_over_area(now > most, field):
            most += 1
            start = max(0, at + 1 - second)
    closest = min(
        (gap for way in (up, down) if (gap := _closest(way, fps, field))), default=0
    )
    return FlashCount(most, anywhere, start, closest)


def _closest(edges: Sequence[Flags], fps: float, field: tuple[float, float]) -> int:
    """Fewest pictures between two edges of one way, over area; 0 when there are none."""
    before: Ints = np.full(edges[0].shape, -1, dtype=np.int64)
    # What happens within one frame of film happens at once.
    fresh, never = film_frame(fps), len(edges) + 1
    gaps: Ints = np.full((fresh, *edges[0].shape), never, dtype=np.int64)
    closest = 0
    for at, edge in enumerate(edges):
        gaps[at % fresh] = np.where(edge & (before >= 0), at - before, never)
        least = gaps.min(axis=0)
        for gap in np.unique(least[least < never]):
            if 0 < closest <= gap:
                break
            if flashes_over_area(least <= gap, field):
                closest = int(gap)
                break
        before[edge] = at
    return closest
