"""Tell the shadow on the floor and the backdrop from the figure itself."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi

import shapely

from panelbeater.svg import SvgShape
from panelbeater.terms.drawing import Shape

_FLAT = 2.5
"""A shadow is at least this many times as wide as high."""
_DARK = 110.0
"""Brightest mean of the three colour channels that still reads as a shadow."""


def is_cast_shadow(shape: SvgShape, others: Sequence[Shape]) -> bool:
    """True for a flat, wide, round, dark or see-through shape under the figure's feet."""
    x0, y0, x1, y1 = shape.outline.bounds
    fx0, fy0, fx1, fy1 = shapely.total_bounds(list(others))
    width, height, middle = x1 - x0, y1 - y0, (fx0 + fx1) / 2
    if height <= 0 or width < _FLAT * height or not x0 < middle < x1:
        return False
    low = (y0 + y1) / 2 > fy1 - 0.08 * (fy1 - fy0) and y1 > fy1 - 0.02 * (fy1 - fy0)
    wide = width > 0.4 * (fx1 - fx0)
    round_ = 0.9 < shape.outline.area / (pi / 4 * width * height) < 1.1
    faint = shape.opacity < 0.95 or _brightness(shape.fill) < _DARK
    return bool(low and wide and round_ and faint)


def is_backdrop(
    shape: SvgShape,
    view_box: tuple[float, float, float, float],
    others: Sequence[Shape],
) -> bool:
    """True for a first-painted shape that fills the page and holds everything else."""
    _, _, width, height = view_box
    outline = shape.outline
    fills = outline.area > 0.7 * width * height
    rest = shapely.union_all(list(others))
    inside = rest.area > 0 and rest.difference(outline).area < 0.02 * rest.area
    return bool(fills and inside and rest.area < 0.7 * outline.area)


def _brightness(colour: str) -> float:
    if len(colour) != 7:
        return 255.0
    return sum(int(colour[k : k + 2], 16) for k in (1, 3, 5)) / 3
