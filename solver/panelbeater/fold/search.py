"""Folds the skeleton until it hides inside the vehicle silhouette."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from panelbeater.errors import NoFoldError
from panelbeater.fold.energy import (
    GROUP_OF_BONE,
    GROUPS,
    N_SCALES,
    Body,
    FoldOptions,
    energy,
    limits,
    sample_body,
    unpack,
)
from panelbeater.geometry.distance import DistanceGrid, distance_grid
from panelbeater.geometry.overlay import joined, without
from panelbeater.kinematics.chain import Skeleton, bodies_on_stage, place_bones, skeleton_of
from panelbeater.terms.arrays import Floats
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import BONE_IDS, Figure
from panelbeater.terms.pose import Fold, Pose

LEAK_MAX = 0.001  # the hard promise of the metrics


def find_folds(
    silhouette: Shape,
    figure: Figure,
    *,
    rng: np.random.Generator,
    n_folds: int = 4,
    options: FoldOptions | None = None,
) -> tuple[Fold, ...]:
    """Folds that hide, all different, the least foreshortened and shortest unfold first.

    Many cheap starts go down the analytic gradient together; the best are pulled in further
    until the exact area of what sticks out keeps the promise.

    Raises NoFoldError, carrying the nearest fold, when nothing hides.
    """
    options = options or FoldOptions()
    skeleton = skeleton_of(figure)
    body = sample_body(skeleton, figure.height)
    grid = distance_grid(silhouette)
    if grid.values.min() >= 0:
        raise NoFoldError(
            "the vehicle is too thin to hide a body in: no part of it is wider than "
            f"{grid.cell:.3g}; draw it fuller"
        )
    found = _descend(
        body, grid, _starts(body, grid, rng, options), options, options.n_steps
    )
    cost, _ = energy(body, grid, found, options, firmness=1000.0)
    best = found[np.argsort(cost, kind="stable")[: 5 * n_folds]]
    folds: list[Fold] = []
    nearest: Fold | None = None
    for fold in _hidden(body, grid, silhouette, best, options):
        if nearest is None or fold.leak < nearest.leak:
            nearest = fold
        if fold.leak <= LEAK_MAX and _is_new(skeleton, fold, folds, figure.height):
            folds.append(fold)
        if len(folds) == n_folds:
            break
    if not folds and nearest is not None:
        raise NoFoldError(_what_leaks(skeleton, nearest, silhouette))
    return tuple(folds)


def body_leak(skeleton: Skeleton, pose: Pose, silhouette: Shape) -> float:
    """area(body outside the silhouette) / area(body), exact."""
    body = joined(bodies_on_stage(skeleton, pose))
    return float(without(body, silhouette).area / body.area)


def _starts(
    body: Body, grid: DistanceGrid, rng: np.random.Generator, options: FoldOptions
) -> Floats:
    """(n_starts, n_unknowns): roots deep inside the silhouette, limbs bent at random."""
    low, high = limits(options)
    n = options.n_starts
    inside = np.argwhere(grid.values < 0.5 * grid.values.min())
    cells = inside[rng.integers(len(inside), size=n)][:, ::-1]
    x = np.empty((n, low.size))
    x[:, :2] = (grid.origin + cells * grid.cell) / body.height
    bends = rng.uniform(-1, 1, size=(n, low.size - 2)) * 0.75
    x[:, 2:] = np.where(np.isfinite(high[2:]), bends * high[2:], 0.0)
    x[:, 2 + len(BONE_IDS) :] = 0.85
    return x


def _descend(
    body: Body, grid: DistanceGrid, x: Floats, options: FoldOptions, n_steps: int
) -> Floats:
    """All starts go downhill side by side with Adam steps (Kingma & Ba 2015), kept in
    limits.

    Every body starts small and grows: a limb that grows inside one part of the vehicle
    bends there, while a full-sized one thrown across a narrow gap stays stuck across it.
    """
    low, high = limits(options)
    small = low.copy()
    small[-N_SCALES:] *= options.seedling
    mean, spread = np.zeros_like(x), np.zeros_like(x)
    for step in range(n_steps):
        share = step / n_steps
        grown = min(
            1.0, options.seedling + (1 - options.seedling) * share / options.grown_by
        )
        x = x.copy()
        x[:, -N_SCALES:] = np.clip(x[:, -N_SCALES:], grown * low[-N_SCALES:], grown)
        _, slope = energy(body, grid, x, options, firmness=10.0 ** (3 * share - 1))
        mean = 0.9 * mean + 0.1 * slope
        spread = 0.98 * spread + 0.02 * slope**2
        unbiased = np.sqrt(spread / (1 - 0.98 ** (step + 1))) + 1e-9
        rate = 0.06 * (1 - share) ** 1.5 + 0.001
        x = np.clip(x - rate * mean / (1 - 0.9 ** (step + 1)) / unbiased, small, high)
    return np.clip(x, low, high)


def _hidden(
    body: Body, grid: DistanceGrid, silhouette: Shape, x: Floats, options: FoldOptions
) -> list[Fold]:
    """Shrink and settle folds (n_folds, n_unknowns) only as far as each one's leak demands;
    the least changed body first.
    """
    low, high = limits(options)
    caps = np.broadcast_to(high, x.shape).copy()
    open_ = np.ones(len(x), dtype=bool)
    for _ in range(options.n_shrinks):
        for k in np.flatnonzero(open_):
            pose = unpack(body, x[k])
            open_[k] = body_leak(body.skeleton, pose, silhouette) > LEAK_MAX
            out = np.tile(_groups_outside(body.skeleton, pose, silhouette), 2)
            smaller = np.maximum(low[-N_SCALES:], x[k, -N_SCALES:] * options.shrink)
            caps[k, -N_SCALES:] = np.where(out, smaller, caps[k, -N_SCALES:])
        if not open_.any():
            break
        x[open_] = _settle(body, grid, x[open_], options, low, caps[open_])
    folds = []
    for unknowns in x:
        pose = unpack(body, unknowns)
        leak = body_leak(body.skeleton, pose, silhouette)
        folds.append(
            Fold(pose, leak, float(pose.scales[:, 0].min()), float(pose.scales[:, 1].min()))
        )
    changed = [float(((1 - x[k, -N_SCALES:]) ** 2).sum()) for k in range(len(x))]
    return [
        folds[k] for k in sorted(range(len(x)), key=lambda k: (round(changed[k], 9), k))
    ]


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
    for step in range(40):
        _, slope = energy(body, grid, x, options, firmness=100.0)
        length = np.abs(slope).max(axis=1, keepdims=True) + 1e-9
        x = np.clip(x - 0.005 * (1 - step / 45) * slope / length, low, high)
    return x


def _is_new(skeleton: Skeleton, fold: Fold, others: Sequence[Fold], height: float) -> bool:
    """True when some joint lies elsewhere than in every fold kept so far."""
    here, _ = place_bones(skeleton, fold.pose)
    for other in others:
        there, _ = place_bones(skeleton, other.pose)
        if float(np.linalg.norm(here - there, axis=-1).max()) < 0.1 * height:
            return False
    return True


def _what_leaks(skeleton: Skeleton, fold: Fold, silhouette: Shape) -> str:
    bodies = bodies_on_stage(skeleton, fold.pose)
    out = [(without(body, silhouette).area / body.area, name)
           for body, name in zip(bodies, BONE_IDS, strict=True)]  # fmt: skip
    worst = ", ".join(
        f"{name} {share:.0%}" for share, name in sorted(out, reverse=True)[:4]
    )
    return (
        f"the body does not fit inside the vehicle: the nearest fold leaks {fold.leak:.2%} "
        f"(allowed {LEAK_MAX:.1%}); most of it {worst}; make the figure smaller "
        "or the vehicle fuller"
    )
