"""As-rigid-as-possible blends on a triangulation, after Alexa, Cohen-Or and Levin (2000).

Written for the tests from the paper, section 4, to hold the closed form against.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import Delaunay

from panelbeater.geometry.frames import polar
from panelbeater.terms.arrays import Floats, Ints, Points


def grid_mesh(length: float, width: float, n: int) -> tuple[Points, Ints]:
    """(v, 2) vertices and (t, 3) triangles of a plate round 0, 0; `n` cells across."""
    m = round(n * length / width)
    x, y = np.meshgrid(
        np.linspace(-length / 2, length / 2, m + 1),
        np.linspace(-width / 2, width / 2, n + 1),
    )
    vertices = np.stack([x.ravel(), y.ravel()], axis=-1)
    return vertices, np.asarray(Delaunay(vertices).simplices, dtype=np.int64)


def jacobians(start: Points, end: Points, faces: Ints) -> Floats:
    """(t, 2, 2), the linear part of each triangle's map."""
    before, after = (
        np.stack([p[faces[:, 1]] - p[faces[:, 0]], p[faces[:, 2]] - p[faces[:, 0]]], -1)
        for p in (start, end)
    )
    out: Floats = after @ np.linalg.inv(before)
    return out


def rigid_blend(start: Points, end: Points, faces: Ints, shares: Floats) -> Points:
    """(n_shares, v, 2): vertices whose triangles turn and stretch by their share as nearly
    as they can; the mean of the vertices goes straight.
    """
    turns, stretch = polar(jacobians(start, end, faces))  # (t,), (t, 2, 2)
    s = np.asarray(shares)[:, None]
    cos, sin = np.cos(s * turns), np.sin(s * turns)
    rotation = np.stack([np.stack([cos, -sin], -1), np.stack([sin, cos], -1)], -2)
    k = s[..., None, None]
    wanted = rotation @ ((1 - k) * np.eye(2) + k * stretch)  # (n, t, 2, 2)
    inverse = np.linalg.inv(
        np.stack(
            [start[faces[:, 1]] - start[faces[:, 0]],
             start[faces[:, 2]] - start[faces[:, 0]]], -1,
        )
    )  # fmt: skip
    # Gradient of a function on the vertices: rows (t, 2), columns v.
    slope = np.zeros((len(faces), 2, len(start)))
    rows = np.arange(len(faces))
    for corner in (1, 2):
        slope[rows, :, faces[:, corner]] += inverse[:, corner - 1, :]
        slope[rows, :, faces[:, 0]] -= inverse[:, corner - 1, :]
    weight = np.sqrt(_areas(start, faces))[:, None]
    system = (slope * weight[..., None]).reshape(-1, len(start))
    system = np.vstack([system, np.full((1, len(start)), 1.0 / len(start))])
    middle = (1 - s) * start.mean(axis=0) + s * end.mean(axis=0)  # (n, 2)
    solved = np.linalg.pinv(system)
    # Row i of a Jacobian is the gradient of coordinate i.
    targets = np.swapaxes(wanted, -1, -2) * weight[..., None]  # (n, t, 2 of x, 2 of out)
    right = np.concatenate([targets.reshape(len(s), -1, 2), middle[:, None]], axis=1)
    out: Points = solved @ right
    return out


def _areas(points: Points, faces: Ints) -> Floats:
    a, b, c = (points[faces[:, k]] for k in range(3))
    first, second = b - a, c - a
    area: Floats = np.abs(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) / 2
    return area
