"""Walk along the middle of a limb and divide the walk into bones."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import distance_transform_edt, gaussian_filter1d
from skimage.graph import MCP_Geometric

from panelbeater.figure.sheet import Mask, Sheet
from panelbeater.terms.arrays import Floats, Ints, Points

_STEEP = 2.0
"""Price of leaving the middle: 1 still cuts corners, 3 zigzags along the ridges."""


def inside_distance(mask: Mask, starts: Ints) -> Floats:
    """(n_rows, n_columns) steps to walk inside `mask` from `starts` (n, 2); inf outside."""
    cost = np.where(mask, 1.0, -1.0)
    costs, _ = MCP_Geometric(cost).find_costs([tuple(s) for s in starts])
    return np.asarray(costs)


def middle_path(sheet: Sheet, mask: Mask, start: Ints, end: Ints) -> Points:
    """(n, 2) body frame: from start to end (row, column) along the middle of `mask`."""
    depth = distance_transform_edt(mask)
    price = np.where(mask, (1.0 + depth.max() / np.maximum(depth, 0.5)) ** _STEEP, -1.0)
    walk = MCP_Geometric(price)
    walk.find_costs([tuple(start)], [tuple(end)])
    cells = np.array(walk.traceback(tuple(end)))
    path = np.stack([sheet.u(cells[:, 1]), sheet.v(cells[:, 0])], axis=1)
    return np.asarray(gaussian_filter1d(path, 3.0, axis=0, mode="nearest"))


def arc_lengths(path: Points) -> Floats:
    """(n,) length walked to each point."""
    steps = np.hypot(*np.diff(path, axis=0).T)
    return np.concatenate([[0.0], np.cumsum(steps)])


def point_at(path: Points, share: float) -> Points:
    """(2,) the point at a share of the path's length."""
    arc = arc_lengths(path)
    return np.array([np.interp(share * arc[-1], arc, path[:, k]) for k in (0, 1)])


def bend_share(path: Points, usual: float, *, play: float) -> float:
    """Where the path bends: the sharpest corner within `usual` +- `play`, else `usual`.

    A corner counts from a fifth of a right angle on; less is the curve of a drawn limb.
    """
    shares = np.linspace(usual - play, usual + play, 25)
    a, c = point_at(path, 0.02), point_at(path, min(0.8, 2 * usual))
    corners = np.array([_turning(a, point_at(path, s), c) for s in shares])
    best = int(np.argmax(corners))
    return float(shares[best]) if corners[best] > np.pi / 10 else usual


def _turning(a: Points, b: Points, c: Points) -> float:
    """Angle, 0 to pi, between the way from a to b and the way from b to c."""
    first, second = b - a, c - b
    cross = first[0] * second[1] - first[1] * second[0]
    return float(abs(np.arctan2(cross, first @ second)))
