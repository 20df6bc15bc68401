"""How much of a viewer's central field flashes at once."""

from __future__ import annotations

import numpy as np

from panelbeater.scores.arrays import Flags

AREA_LIMIT = 0.25
"""WCAG 2.2: 25 % of any 10 degrees of the visual field (0.006 steradians)."""
WHOLE_SCREEN = (256.0 / 768.0, 341.0 / 1024.0)
"""Height and width of the 10-degree field, as shares of the picture: WCAG's rectangle of
341 x 256 on 1024 x 768, for a picture that fills the screen."""


def field_share(spots: Flags, field: tuple[float, float]) -> float:
    """Largest share of spots in any field-sized rectangle of a (h, w) picture, 0 to 1."""
    height, width = spots.shape
    tall = min(height, max(1, round(height * field[0])))
    wide = min(width, max(1, round(width * field[1])))
    sums = np.zeros((height + 1, width + 1), dtype=np.int64)
    np.cumsum(np.cumsum(spots, axis=0, dtype=np.int64), axis=1, out=sums[1:, 1:])
    inside = sums[tall:, wide:] - sums[:-tall, wide:] - sums[tall:, :-wide]
    inside = inside + sums[:-tall, :-wide]
    return float(inside.max() / (tall * wide))


def flashes_over_area(spots: Flags, field: tuple[float, float]) -> bool:
    """True when some 10-degree field is flashing over more than a quarter of it."""
    return bool(spots.any()) and field_share(spots, field) > AREA_LIMIT
