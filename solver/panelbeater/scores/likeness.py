"""How alike two outlines are once move, turn, flip and scale are undone."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely

from panelbeater.scores.overlay import made_valid, shared
from panelbeater.scores.shot import ROUNDING
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.drawing import Shape


def intersection_over_union(one: Shape, other: Shape) -> float:
    """Area shared over area of both together, 0 to 1 (Jaccard 1912)."""
    common = shared(one, other).area
    both = one.area + other.area - common
    return float(common / both) if both > 0 else 0.0


def corners_match(one: Shape, other: Shape) -> bool:
    """True when the outlines have the same parts, rings and corner counts in order."""
    return _ring_sizes(one) == _ring_sizes(other)


def _ring_sizes(shape: Shape) -> list[list[int]]:
    return [
        [len(ring.coords) for ring in (part.exterior, *part.interiors)]
        for part in shapely.get_parts(shape)
    ]


def corners(shape: Shape) -> Points:
    """(n, 2), corners of all rings in order, each once."""
    rings = [
        shapely.get_coordinates(ring)[:-1]
        for part in shapely.get_parts(shape)
        for ring in (part.exterior, *part.interiors)
    ]
    return np.concatenate(rings) if rings else np.zeros((0, 2))


def fit_affine(start: Points, end: Points) -> Floats:
    """(2, 3) affine map, least squares over corresponding (n, 2) points."""
    rows = np.column_stack([start, np.ones(len(start))])
    return np.asarray(np.linalg.lstsq(rows, end, rcond=None)[0].T)


def fit_similarity(start: Points, end: Points, *, flip: bool) -> Floats:
    """(2, 3) move, turn and scale, least squares; with `flip` x is mirrored first.

    The 2D case of Umeyama 1991 in closed form.
    """
    a = start * (-1.0, 1.0) if flip else start
    middle_a, middle_b = a.mean(axis=0), end.mean(axis=0)
    p, q = a - middle_a, end - middle_b
    size = float((p * p).sum()) or 1.0
    along = float((p * q).sum()) / size
    across = float((p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]).sum()) / size
    linear = np.array([[along, -across], [across, along]])
    move = middle_b - linear @ middle_a
    if flip:
        linear = linear @ np.diag([-1.0, 1.0])
    return np.column_stack([linear, move])


def mapped(shape: Shape, transform: Floats) -> Shape:
    """The outline under a (2, 3) map, made valid."""
    linear, move = transform[:, :2], transform[:, 2]
    return made_valid(shapely.transform(shape, lambda xy: xy @ linear.T + move))


def best_similarity(start: Shape, end: Shape) -> tuple[Floats, bool]:
    """The (2, 3) move, turn and scale that takes `start` nearest to `end`, and if it flips.

    From corresponding corners where the counts match, else from centroid, area and the long
    axis; of the choices the one with the largest overlap.
    """
    transform, flip, _ = _nearest(start, end)
    return transform, flip


@lru_cache(maxsize=256)  # shots of one design are judged in turn, and few pieces differ
def shape_distance(start: Shape, end: Shape) -> float:
    """1 - IoU after undoing the best move, turn, flip and scale, 0 (same) to 1."""
    return 1.0 - _nearest(start, end)[2]


def _nearest(start: Shape, end: Shape) -> tuple[Floats, bool, float]:
    """The best similarity, whether it flips, and the IoU it leads to."""
    if corners_match(start, end):
        a, b = corners(start), corners(end)
        maps = [(fit_similarity(a, b, flip=flip), flip) for flip in (False, True)]
        size = float(np.ptp(b, axis=0).max(initial=0.0))
        for m, flip in maps:
            if np.abs(a @ m[:, :2].T + m[:, 2] - b).max(initial=0.0) <= ROUNDING * size:
                return m, flip, 1.0  # corner on corner: nothing to overlay
    else:
        maps = [
            (_by_area(start, end, turn, flip=flip), flip)
            for turn, flip in _turns(start, end)
        ]
    target = made_valid(end)
    alike = [intersection_over_union(mapped(start, m), target) for m, _ in maps]
    best = int(np.argmax(alike))
    return *maps[best], alike[best]


def aligned(shape: Shape, target: Shape) -> Shape:
    """The outline moved and scaled, not turned, to the target's centroid and area."""
    return mapped(shape, _by_area(shape, target, 0.0, flip=False))


def _by_area(start: Shape, end: Shape, turn: float, *, flip: bool) -> Floats:
    size = np.sqrt(end.area / start.area)
    cos, sin = size * np.cos(turn), size * np.sin(turn)
    linear = np.array([[cos, -sin], [sin, cos]]) @ np.diag([-1.0 if flip else 1.0, 1.0])
    a, b = (shapely.get_coordinates(shape.centroid)[0] for shape in (start, end))
    return np.column_stack([linear, b - linear @ a])


def _turns(start: Shape, end: Shape) -> list[tuple[float, bool]]:
    a, b = _long_axis(start), _long_axis(end)
    return [
        (b - a, False),
        (b - a + np.pi, False),
        (b + a - np.pi, True),
        (b + a, True),
    ]


def _long_axis(shape: Shape) -> float:
    """Angle of the long side of the smallest box around the outline, radians."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(shape))
    sides = np.diff(corners, axis=0)
    longest = sides[int(np.argmax(np.hypot(sides[:, 0], sides[:, 1])))]
    return float(np.arctan2(longest[1], longest[0]))
