"""How much of a viewer's central field flashes at once."""

from __future__ import annotations

import numpy as np

from panelbeater.scores.arrays import Flags
from panelbeater.terms.arrays import Floats

AREA_LIMIT = 0.25
"""WCAG 2.2: 25 % of any 10 degrees of the visual field (0.006 steradians)."""
WHOLE_SCREEN = (256.0 / 768.0, 341.0 / 1024.0)
"""Height and width of the 10-degree field, as shares of the picture: WCAG's rectangle of
341 x 256 on 1024 x 768, for a picture that fills the screen."""


def field_share(spots: Flags, field: tuple[float, float]) -> float:
    """Largest share of spots in any field-sized rectangle of a (h, w) picture, 0 to 1."""
    return float(_shares(spots, field).max())


def flashes_over_area(spots: Flags, field: tuple[float, float]) -> bool:
    """True when some 10-degree field is flashing over more than a quarter of it."""
    return bool(spots.any()) and field_share(spots, field) > AREA_LIMIT


def together(spots: Flags, field: tuple[float, float]) -> Flags:
    """Those of the (h, w) spots that share some 10-degree field with enough others to fill
    more than a quarter of it: the flashes that WCAG calls concurrent.
    """
    if not spots.any():
        return spots
    height, width = spots.shape
    hot = _shares(spots, field) > AREA_LIMIT
    tall, wide = _size(spots, field)
    # Every hot rectangle is laid down again by its four corners and two running sums.
    laid = np.zeros((height + 1, width + 1), dtype=np.int64)
    laid[: hot.shape[0], : hot.shape[1]] += hot
    laid[tall:, : hot.shape[1]] -= hot
    laid[: hot.shape[0], wide:] -= hot
    laid[tall:, wide:] += hot
    covered = np.cumsum(np.cumsum(laid, axis=0), axis=1)[:height, :width] > 0
    return np.asarray(spots & covered)


def _size(spots: Flags, field: tuple[float, float]) -> tuple[int, int]:
    height, width = spots.shape
    tall = min(height, max(1, round(height * field[0])))
    return tall, min(width, max(1, round(width * field[1])))


def _shares(spots: Flags, field: tuple[float, float]) -> Floats:
    """Share of spots in the field-sized rectangle that starts at each place."""
    tall, wide = _size(spots, field)
    height, width = spots.shape
    sums = np.zeros((height + 1, width + 1), dtype=np.int64)
    np.cumsum(np.cumsum(spots, axis=0, dtype=np.int64), axis=1, out=sums[1:, 1:])
    inside = sums[tall:, wide:] - sums[:-tall, wide:] - sums[tall:, :-wide]
    out: Floats = (inside + sums[:-tall, :-wide]) / (tall * wide)
    return out
