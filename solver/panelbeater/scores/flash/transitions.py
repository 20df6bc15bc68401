"""Where and when each spot of a picture goes brighter or darker, redder or less red."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from panelbeater.scores.arrays import Flags
from panelbeater.scores.flash.colour import chromaticity, is_saturated_red, luminance
from panelbeater.terms.arrays import Floats, Ints

Turns8: TypeAlias = np.ndarray[Any, np.dtype[np.int8]]
"""(h, w), 1 where a spot turns up (brighter, redder), -1 down, 0 neither."""

GENERAL_STEP = 0.1
"""WCAG 2.2: opposing changes of 10 % of the maximum relative luminance (1.0)."""
DARKER_BELOW = 0.8
"""WCAG 2.2: only where the darker picture is below 0.80."""
RED_STEP = 0.2
"""WCAG 2.2: more than 0.2 in the CIE 1976 UCS chromaticity diagram."""
_SETS_OFF = 0.1
"""Share of the step by which a spot has left its peak or valley: the transition is under
way from there (the 10 % level of a rise time, IEEE Std 181)."""
_PRIMARY = np.array([0.4507, 0.5229])  # u', v' of the sRGB red primary.
# Two bytes a nominal 10 % apart must not slip through by the last bit.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Turned:
    """Transitions that one picture completes."""

    way: Turns8
    length: Ints
    """(h, w), pictures since the spot left its peak or valley, at least 1; only where it
    turned."""


class GeneralTurns:
    """General transitions, picture by picture.

    A spot turns when its luminance leaves its last peak or valley by 0.1 or more and the
    darker side is below 0.80. The peak or valley is the extreme since the last turn, so
    ripples smaller than 0.1 neither count nor hide a larger change. Stateful on purpose: a
    shot is too large to hold as numbers all at once.
    """

    def __init__(self, first: Floats) -> None:
        """`first`: (h, w, 3), linear light of the first picture."""
        self._high = luminance(first)
        self._low = self._high.copy()
        self._last = np.zeros(self._high.shape, dtype=np.int8)
        self._at = 0
        self._at_high: Ints = np.zeros(self._high.shape, dtype=np.int64)
        self._at_low = self._at_high.copy()

    def turn(self, light: Floats) -> Turned:
        """Transitions completed in the next picture."""
        self._at += 1
        now = luminance(light)
        np.maximum(self._high, now, out=self._high)
        np.minimum(self._low, now, out=self._low)
        step = GENERAL_STEP - _ROUNDING
        up = (now - self._low >= step) & (self._low < DARKER_BELOW) & (self._last <= 0)
        down = (self._high - now >= step) & (now < DARKER_BELOW) & (self._last >= 0)
        down &= ~up
        length = self._at - np.where(up, self._at_low, self._at_high)
        moved = up | down
        self._last = np.where(moved, up.astype(np.int8) - down.astype(np.int8), self._last)
        self._high = np.where(moved, now, self._high)
        self._low = np.where(moved, now, self._low)
        self._at_high[self._high - now <= _SETS_OFF * GENERAL_STEP] = self._at
        self._at_low[now - self._low <= _SETS_OFF * GENERAL_STEP] = self._at
        return Turned(np.where(moved, self._last, 0).astype(np.int8), length)


class RedTurns:
    """Transitions to and from a saturated red, picture by picture.

    A spot turns when it enters or leaves saturated red and lies more than 0.2 in u'v' from
    the least red (or reddest) state since its last turn.
    """

    def __init__(self, first: Floats) -> None:
        """`first`: (h, w, 3), linear light of the first picture."""
        self._is_red: Flags = is_saturated_red(first)
        self._state = chromaticity(first)
        self._at = 0
        self._left: Ints = np.zeros(self._is_red.shape, dtype=np.int64)

    def turn(self, light: Floats) -> Turned:
        """Transitions completed in the next picture."""
        self._at += 1
        red, now = is_saturated_red(light), chromaticity(light)
        turned = (red != self._is_red) & (_away(now, self._state) > RED_STEP)
        length = self._at - self._left
        further = _away(now, _PRIMARY) > _away(self._state, _PRIMARY)
        # Red keeps its reddest state, anything else its least red one.
        extreme = (red == self._is_red) & (further != red)
        self._state = np.where(turned | extreme, now, self._state)
        self._is_red = np.where(turned, red, self._is_red)
        self._left[_away(now, self._state) <= _SETS_OFF * RED_STEP] = self._at
        return Turned(np.where(turned, np.where(red, 1, -1), 0).astype(np.int8), length)


def _away(one: Floats, other: Floats) -> Floats:
    """(h, w), distance of (2, h, w) chromaticities."""
    return np.asarray(np.hypot(one[0] - other[0], one[1] - other[1]))
