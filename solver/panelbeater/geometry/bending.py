"""Bending a flat piece: where its points go, and how much that stretches it.

Halfway bent means half the curvature. Along the axis every spot then turns and stretches by
just its share, which is the in-between that an as-rigid-as-possible blend looks for (Alexa,
Cohen-Or and Levin 2000), so no blend need be solved; `geometry.morph` is the general case.
"""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.bend import Bend
from panelbeater.terms.drawing import Shape

FINE = 0.03
"""Radians between two corners of a bent edge: a chord stays within 0.4 % of its
length of the arc."""
STRAIGHT = 1e-12
"""Turn, in radians over a whole piece, below which it stays as drawn."""


def bend_points(bend: Bend, points: Points, share: Floats | float = 1.0) -> Points:
    """Bend (n, 2) points of the piece frame by a `share` (...,) of it; gives (..., n, 2).

    Share 0 leaves them exactly as they are.
    """
    share = np.asarray(share, dtype=np.float64)[..., None]  # (..., 1)
    along, across = _axes(bend)
    x, y = points @ along, points @ across  # (n,)
    curvature, taper = share * bend.curvature, share * bend.taper
    wide = y * (1.0 + taper * x)
    turn = curvature * x
    # The arc's own way along and across the axis: sin(kx) / k and (1 - cos(kx)) / k.
    half = np.sinc(turn / (2 * np.pi))
    way = x * np.sinc(turn / np.pi) - wide * np.sin(turn)
    rise = x * np.sin(turn / 2) * half + wide * np.cos(turn)
    moves = (way - x)[..., None] * along + (rise - y)[..., None] * across
    return points + moves


def local_stretch(bend: Bend, points: Points) -> Floats:
    """(n,), ratio of the largest to the smallest stretch round each (n, 2) point.

    Infinite where the piece would be turned inside out.
    """
    along, across = _axes(bend)
    x, y = points @ along, points @ across
    lengthwise = 1.0 - bend.curvature * y * (1.0 + bend.taper * x)
    crosswise, shear = 1.0 + bend.taper * x, bend.taper * y
    # Singular values of [[lengthwise, 0], [shear, crosswise]] in closed form.
    both = lengthwise**2 + crosswise**2 + shear**2
    area = lengthwise * crosswise
    root = np.sqrt(np.maximum(both**2 - 4 * area**2, 0.0))
    least = np.sqrt(np.maximum((both - root) / 2, 0.0))
    inside_out = (lengthwise <= 0) | (crosswise <= 0) | (least <= 0)
    ratio = np.sqrt((both + root) / 2) / np.where(inside_out, 1.0, least)
    return np.where(inside_out, np.inf, ratio)


def distortion(bend: Bend, outline: Shape) -> float:
    """The largest ratio of local stretch over a piece, 1 for none; piece frame.

    What to hold against `Allowance.bend_max`.
    """
    return float(local_stretch(bend, shapely.get_coordinates(outline)).max())


def fine_outline(bend: Bend, outline: Shape) -> Shape:
    """The same outline with corners close enough that its edges can bend.

    Its shape is untouched, and every share of the bend gets corners in the same order.
    """
    x0, y0, x1, y1 = outline.bounds
    whole = abs(bend.curvature) * float(np.hypot(x1 - x0, y1 - y0))
    if whole < STRAIGHT:
        return outline
    return shapely.segmentize(outline, FINE / abs(bend.curvature))


def bend_shape(
    bend: Bend | None, outline: Shape, share: float = 1.0, *, centre: Points | None = None
) -> Shape:
    """A bent outline of the piece frame, or of a drawing where the piece has its centroid
    at `centre` (2,).
    """
    if bend is None:
        return outline
    at = np.zeros(2) if centre is None else centre
    return shapely.transform(
        fine_outline(bend, outline),
        lambda points: bend_points(bend, points - at, share) + at,
    )


def _axes(bend: Bend) -> tuple[Points, Points]:
    cos, sin = np.cos(bend.axis), np.sin(bend.axis)
    return np.array([cos, sin]), np.array([-sin, cos])
