"""Cutting and joining outlines so that their areas can be trusted.

Overlay in plain floating point now and then gives grossly wrong areas for outlines that
nearly coincide (GEOS 3.14; locationtech/jts issue 1000, shapely issue 1639), which is just
what a frame that reproduces the drawing looks like. Here every overlay is snapped to a grid
of about 1e-10 of the largest coordinate; areas are right to that share of the outline's
length.
"""

from __future__ import annotations

from typing import cast, overload

import numpy as np
import shapely

from panelbeater.scores.arrays import Shapes
from panelbeater.terms.drawing import Shape

_GRID_BITS = 33  # 2^-33 of the largest coordinate: far above rounding, far below a promise.
_SMALLEST = 1e-30  # Where nothing is drawn any grid will do.


def made_valid(shape: Shape) -> Shape:
    """The same outline with self-touching or crossing rings put in order."""
    if shapely.is_valid(shape):
        return shape
    fixed = shapely.make_valid(shape, method="structure", keep_collapsed=False)
    return joined(shapely.get_parts(fixed))


def joined(shapes: Shapes) -> Shape:
    """Union of many outlines; anything in them without an area is left out."""
    solid = shapes[shapely.area(shapes) > 0]
    try:
        out = shapely.union_all(solid, grid_size=_grid(solid))
    except shapely.GEOSException:  # a ring that was turned may cross itself by a hair
        mended = np.array([made_valid(shape) for shape in solid], dtype=object)
        out = shapely.union_all(mended, grid_size=_grid(mended))
    return cast("Shape", out)


@overload
def shared(one: Shape, other: Shape) -> Shape: ...
@overload
def shared(one: Shapes, other: Shapes | Shape) -> Shapes: ...
def shared(one: Shape | Shapes, other: Shape | Shapes) -> Shape | Shapes:
    """What lies in both outlines, pair by pair."""
    return cast("Shapes", shapely.intersection(one, other, grid_size=_grid(one, other)))


@overload
def less(one: Shape, other: Shape) -> Shape: ...
@overload
def less(one: Shapes, other: Shapes | Shape) -> Shapes: ...
def less(one: Shape | Shapes, other: Shape | Shapes) -> Shape | Shapes:
    """What lies in the first outline and not in the other, pair by pair."""
    return cast("Shapes", shapely.difference(one, other, grid_size=_grid(one, other)))


def unlike(one: Shapes, other: Shapes) -> Shapes:
    """What lies in one of the outlines only, pair by pair."""
    found = shapely.symmetric_difference(one, other, grid_size=_grid(one, other))
    return cast("Shapes", found)


def _grid(*shapes: Shape | Shapes) -> float:
    """Grid size, drawing units, a power of two so that rounding is exact."""
    boxes = np.concatenate([np.ravel(shapely.bounds(shape)) for shape in shapes])
    ends = np.abs(boxes[~np.isnan(boxes)])  # an empty outline has no box
    return float(2.0 ** (np.floor(np.log2(ends.max(initial=_SMALLEST))) - _GRID_BITS))
