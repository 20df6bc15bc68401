"""Counting flashes in any one second of a rendered shot."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from math import ceil, isfinite

import numpy as np

from panelbeater.errors import DrawingError
from panelbeater.scores.arrays import Flags
from panelbeater.scores.flash.colour import Picture, linear
from panelbeater.scores.flash.field import WHOLE_SCREEN, flashes_over_area, together
from panelbeater.scores.flash.transitions import GeneralTurns, RedTurns, Turns8
from panelbeater.terms.arrays import Ints

CAUTION = (
    "Caution: moving pictures with sudden changes of light can trigger seizures in people "
    "with photosensitive epilepsy. This measure is a help, not a medical test."
)
FAILING_TURNS = 7
"""WCAG 2.2 SC 2.3.1: more than three flashes, a flash being a pair of opposing changes."""
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
    concurrently (the same way in one frame) over more than a quarter of some 10-degree
    field; the count that matters is the largest one that such an area reaches. A patterned
    picture that moves changes many spots one after another, which is not a flash.

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
    tallies = [_Tally(frames.shape[1:3], ceil(fps), field) for _ in sorts]
    for at in range(1, len(frames)):
        light = linear(frames[at])
        for turns, tally in zip(sorts, tallies, strict=True):
            tally.add(at, turns.turn(light))
    general, red = (tally.count() for tally in tallies)
    return FlashReport(general, red, spacing_frames=ceil(fps * _SPACING_S - 1e-9))


class _Tally:
    """Transitions of one sort over the last second, and the worst seen so far."""

    def __init__(
        self, size: tuple[int, int], second: int, field: tuple[float, float]
    ) -> None:
        self._field = field
        self._second = second
        self._recent: deque[tuple[Flags, Flags]] = deque()
        self._now: Ints = np.zeros(size, dtype=np.int64)
        self._spots: Ints = np.zeros(size, dtype=np.int64)
        self._leading: Ints = np.full((2, *size), -1, dtype=np.int64)
        self._turns = self._anywhere = self._worst_start = self._closest = 0

    def add(self, at: int, turned: Turns8) -> None:
        # Concurrent: the same way, over area, in the same frame.
        counted = together(np.asarray(turned > 0), self._field)
        counted |= together(np.asarray(turned < 0), self._field)
        anywhere = np.asarray(turned != 0)
        self._recent.append((counted, anywhere))
        self._now += counted
        self._spots += anywhere
        if len(self._recent) > self._second:
            old, old_anywhere = self._recent.popleft()
            self._now -= old
            self._spots -= old_anywhere
        self._anywhere = max(self._anywhere, int(self._spots.max()))
        while self._anywhere > self._turns and flashes_over_area(
            self._now > self._turns, self._field
        ):
            self._turns += 1
            # A transition at frame k is seen against frame k - 1.
            self._worst_start = max(0, at - self._second)
        for way, sign in enumerate((1, -1)):
            self._space(at, np.asarray(turned == sign), way)

    def _space(self, at: int, edge: Flags, way: int) -> None:
        before = self._leading[way]
        again = edge & (before >= 0)
        gaps = np.where(again, at - before, 0)
        for gap in np.unique(gaps[again]):
            if 0 < self._closest <= gap:
                break
            if flashes_over_area(again & (gaps <= gap), self._field):
                self._closest = int(gap)
                break
        before[edge] = at

    def count(self) -> FlashCount:
        return FlashCount(self._turns, self._anywhere, self._worst_start, self._closest)
