"""Silhouettes as shape contexts: what every edge point sees of the rest of the edge."""

from __future__ import annotations

import numpy as np
from skimage.measure import find_contours

from panelbeater.stress.recognition.silhouettes import Mask
from panelbeater.terms.arrays import Floats, Points

N_POINTS = 48
"""Edge points of each silhouette; Belongie et al. used 100 and found it uncritical."""
N_RINGS, N_SECTORS = 5, 12
NEAREST, FARTHEST = 0.125, 2.0
"""Radii of the innermost and outermost ring, in mean distances."""
N_ASKED = 12
"""Points of the asking silhouette that look for a match (Mori et al. 2005)."""


def edge_points(mask: Mask, n_points: int = N_POINTS) -> Points:
    """(n_points, 2), x and y at even steps along the edges of all parts, longest first.

    Shorter edges get points in proportion to their length. Empty for an empty mask.
    """
    padded = np.pad(mask, 1).astype(np.float64)
    edges: list[Points] = list(find_contours(padded, 0.5))  # type: ignore[no-untyped-call]
    if not edges:
        return np.zeros((0, 2))
    edges.sort(key=lambda edge: -len(edge))
    steps = [np.hypot(*np.diff(edge, axis=0).T) for edge in edges]
    way = np.concatenate([[0.0], np.cumsum(np.concatenate(steps))])
    at = np.arange(n_points) * way[-1] / n_points
    starts = np.concatenate([edge[:-1] for edge in edges])
    ends = np.concatenate([edge[1:] for edge in edges])
    row = np.clip(np.searchsorted(way, at, side="right") - 1, 0, len(starts) - 1)
    share = ((at - way[row]) / np.maximum(way[row + 1] - way[row], 1e-12))[:, None]
    points = (1 - share) * starts[row] + share * ends[row]
    return np.asarray(points[:, ::-1], dtype=np.float64)


def shape_contexts(points: Points) -> Floats:
    """(n_points, 60), log-polar histograms that add up to 1 (5 rings, 12 sectors).

    S. Belongie, J. Malik & J. Puzicha, Shape matching and object recognition using shape
    contexts, IEEE PAMI 24, 2002, section 3.1; not turned to the edge, so upright counts.
    """
    n_points = len(points)
    between = points[None] - points[:, None]  # (n, n, 2)
    distance = np.hypot(between[..., 0], between[..., 1])
    others = ~np.eye(n_points, dtype=np.bool_)
    mean = float(distance[others].mean()) if n_points > 1 else 1.0
    limits = np.geomspace(NEAREST, FARTHEST, N_RINGS)
    ring = np.searchsorted(limits, distance / max(mean, 1e-12))
    angle = np.arctan2(between[..., 1], between[..., 0]) % (2 * np.pi)
    sector = np.floor(angle / (2 * np.pi) * N_SECTORS).astype(np.int64) % N_SECTORS
    counted = others & (ring < N_RINGS)
    out = np.zeros((n_points, N_RINGS * N_SECTORS))
    row = np.broadcast_to(np.arange(n_points)[:, None], ring.shape)
    np.add.at(out, (row[counted], (ring * N_SECTORS + sector)[counted]), 1.0)
    return np.asarray(out / np.maximum(out.sum(axis=1, keepdims=True), 1.0))


def flopped_contexts(contexts: Floats) -> Floats:
    """The contexts seen in a mirror: every sector answers the one across the upright."""
    mirror = (N_SECTORS // 2 - 1 - np.arange(N_SECTORS)) % N_SECTORS
    rings = contexts.reshape(-1, N_RINGS, N_SECTORS)[..., mirror]
    return np.asarray(rings.reshape(contexts.shape))


def context_distances(asking: Floats, known: Floats) -> Floats:
    """(n_known,): mean over the asking points of the best chi-squared match.

    asking : (n_points, 60); known : (n_known, n_points, 60). The cost is Belongie et al.
    2002, equation 1; matching only a few representative points is G. Mori, S. Belongie &
    J. Malik, Efficient shape matching using shape contexts, IEEE PAMI 27, 2005, section 4.
    """
    few = asking[:: max(1, len(asking) // N_ASKED)].astype(known.dtype)  # (r, 60)
    by_bin = np.moveaxis(known, -1, 0)  # (60, n_known, n_points)
    sums = by_bin.sum(axis=0)
    out = np.zeros(len(known))
    for context in few:
        # (a - b)^2 / (a + b) is a + b - 4 a b / (a + b): only bins that hold an a matter.
        bins = np.flatnonzero(context)
        a, b = context[bins, None, None], by_bin[bins]
        cost = 0.5 * (context.sum() + sums) - 2.0 * (a * b / (a + b)).sum(axis=0)
        out += cost.min(axis=-1)
    return out / max(len(few), 1)
