"""Which changes of light happen together: concurrent in time, and over area.

WCAG 2.2 counts "the combined area of flashes occurring concurrently" without a measure for
concurrent. Ours: a transition is under way from the moment its spot leaves its peak or
valley until it has gone the whole step, and never for less than one frame of film; two are
concurrent when they go the same way and are under way at one moment. So a picture that
lights up or fades as a whole counts however slowly it does so and however finely it is
sampled, and an edge that travels counts by the ground it covers within 1/24 of a second,
at 24 frames a second as at 120.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from panelbeater.scores.arrays import Flags
from panelbeater.scores.flash.field import together
from panelbeater.scores.flash.transitions import Turned

SHORTEST_S = 1.0 / 24.0
"""One frame of film: changes within it are one change to a meter that reads film, frame by
frame (project; WCAG gives no figure)."""
LONGEST_S = 1.0
"""The span flashes are counted in: a change slower than that is no part of a flash."""


def film_frame(fps: float) -> int:
    """Pictures that show what one frame of film would, at least one."""
    return max(1, int(fps * SHORTEST_S + 0.5))


def concurrent(
    turns: Sequence[Turned], fps: float, field: tuple[float, float]
) -> tuple[list[Flags], list[Flags]]:
    """Transitions upwards, and downwards, that happen together over more than a quarter of
    some 10-degree field: for each picture (h, w), true where such a one is completed.
    """
    least = film_frame(fps)
    most = max(least, int(fps * LONGEST_S))
    up, down = (_one_way(turns, way, (least, most), field) for way in (1, -1))
    return up, down


def _one_way(
    turns: Sequence[Turned], way: int, limits: tuple[int, int], field: tuple[float, float]
) -> list[Flags]:
    done = [np.asarray(turned.way == way) for turned in turns]
    lengths = [np.clip(turned.length, *limits) for turned in turns]
    under_way = [flags.copy() for flags in done]
    for at, flags in enumerate(done):
        for back in range(1, _longest(flags, lengths[at], at)):
            under_way[at - back] |= flags & (lengths[at] > back)
    hot = [together(flags, field) for flags in under_way]
    counted = []
    for at, flags in enumerate(done):
        shared = flags & hot[at]
        for back in range(1, _longest(flags, lengths[at], at)):
            shared |= flags & hot[at - back] & (lengths[at] > back)
        counted.append(shared)
    return counted


def _longest(flags: Flags, lengths: np.ndarray, at: int) -> int:
    """Pictures to look back over, this one included, none before the first."""
    return min(int(lengths[flags].max(initial=1)), at + 1)
