"""What outlines share and what is left of them, also where plain arithmetic gives up."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from panelbeater.terms.arrays import Floats

SNAP = 2.0**-26
"""Grid of the second attempt, as a share of the largest coordinate: about 1e-8."""


def shared(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What lies in both."""
    return _sound(shapely.intersection, one, other)


def without(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What of the first lies outside the second."""
    return _sound(shapely.difference, one, other)


def joined(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """All shapes as one."""
    try:
        return shapely.union_all(shapes)
    except shapely.GEOSException:
        return shapely.union_all(shapes, grid_size=_grid(shapes))


def shared_areas(ones: Any, others: Any) -> Floats:
    """Areas of pairwise intersections; arguments broadcast like arrays."""
    try:
        return np.asarray(shapely.area(shapely.intersection(ones, others)))
    except shapely.GEOSException:
        pairs = np.broadcast_arrays(np.asarray(ones), np.asarray(others))
        flat = [shared(a, b).area for a, b in zip(*(p.ravel() for p in pairs), strict=True)]
        return np.array(flat).reshape(pairs[0].shape)


def _sound(
    overlay: Callable[..., Any], one: BaseGeometry, other: BaseGeometry
) -> BaseGeometry:
    """The overlay as it is, or snapped where edges that nearly coincide defeat it."""
    try:
        out = overlay(one, other)
    except shapely.GEOSException:
        # An earlier overlay can hand on a ring that crosses itself by a hair.
        mended = [
            shapely.make_valid(shape, method="structure", keep_collapsed=False)
            for shape in (one, other)
        ]
        out = overlay(*mended, grid_size=_grid(mended))
    return out  # type: ignore[no-any-return]


def _grid(shapes: Sequence[BaseGeometry]) -> float:
    largest = float(np.nanmax(np.abs(shapely.total_bounds(list(shapes)))))
    return SNAP * max(largest, 1.0)
