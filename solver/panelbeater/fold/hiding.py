"""Pulls folds in until the exact area of what sticks out keeps the promise."""

from __future__ import annotations

import numpy as np

from panelbeater.fold.energy import (
    GROUP_OF_BONE,
    GROUPS,
    N_SCALES,
    Body,
    FoldOptions,
    energy,
    limits,
    unpack,
)
from panelbeater.geometry.distance import DistanceGrid
from panelbeater.geometry.overlay import joined, without
from panelbeater.kinematics.chain import Skeleton, bodies_on_stage
from panelbeater.terms.arrays import Floats
from panelbeater.terms.drawing import Shape
from panelbeater.terms.pose import Pose

LEAK_MAX = 0.001  # the hard promise of the metrics


def body_leak(skeleton: Skeleton, pose: Pose, silhouette: Shape) -> float:
    """area(body outside the silhouette) / area(body), exact."""
    body = joined(bodies_on_stage(skeleton, pose))
    return float(without(body, silhouette).area / body.area)


def hide(
    body: Body, grid: DistanceGrid, silhouette: Shape, x: Floats, options: FoldOptions
) -> tuple[Floats, Floats]:
    """Folds (n_folds, n_unknowns) settled and shrunk only as far as each one's leak
    demands, and the leaks, (n_folds,).
    """
    low, high = limits(options)
    caps = np.broadcast_to(high, x.shape).copy()
    x = _settle(body, grid, x, options, low, caps)
    leaks = np.full(len(x), np.inf)
    open_ = np.ones(len(x), dtype=bool)
    for turn in range(options.n_shrinks + 1):
        for k in np.flatnonzero(open_):
            pose = unpack(body, x[k])
            leaks[k] = body_leak(body.skeleton, pose, silhouette)
            open_[k] = leaks[k] > LEAK_MAX
            out = np.tile(_groups_outside(body.skeleton, pose, silhouette), 2)
            smaller = np.maximum(low[-N_SCALES:], x[k, -N_SCALES:] * options.shrink)
            caps[k, -N_SCALES:] = np.where(out, smaller, caps[k, -N_SCALES:])
        if not open_.any() or turn == options.n_shrinks:
            break
        x[open_] = _settle(body, grid, x[open_], options, low, caps[open_])
    return x, leaks


def _groups_outside(skeleton: Skeleton, pose: Pose, silhouette: Shape) -> np.ndarray:
    """(n_groups,) bool: which limbs stick out by more than a fair share of the leak."""
    bodies = bodies_on_stage(skeleton, pose)
    fair = LEAK_MAX * sum(body.area for body in bodies) / len(bodies)
    out = np.zeros(len(GROUPS), dtype=bool)
    for bone, body in enumerate(bodies):
        out[GROUP_OF_BONE[bone]] |= without(body, silhouette).area > fair
    return out


def _settle(
    body: Body,
    grid: DistanceGrid,
    x: Floats,
    options: FoldOptions,
    low: Floats,
    high: Floats,
) -> Floats:
    """A few short steps with a firm edge, all folds side by side."""
    x = np.clip(x, low, high)
    mean, spread = np.zeros_like(x), np.zeros_like(x)
    for step in range(options.n_settle):
        _, slope = energy(body, grid, x, options, firmness=300.0)
        mean = 0.8 * mean + 0.2 * slope
        spread = 0.95 * spread + 0.05 * slope**2
        pace = 0.006 * (1 - step / options.n_settle) + 0.0003
        unbiased = np.sqrt(spread / (1 - 0.95 ** (step + 1))) + 1e-9
        x = np.clip(x - pace * mean / (1 - 0.8 ** (step + 1)) / unbiased, low, high)
    return x
