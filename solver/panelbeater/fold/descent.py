"""Many folds going downhill side by side: bodies that grow, and limbs thrown anew."""

from __future__ import annotations

import numpy as np

from panelbeater.fold.energy import (
    GROUP_OF_BONE,
    GROUPS,
    N_BONES,
    N_SCALES,
    Body,
    FoldOptions,
    energy,
    limits,
)
from panelbeater.geometry.distance import DistanceGrid
from panelbeater.terms.arrays import Floats


def scatter(
    grid: DistanceGrid, height: float, rng: np.random.Generator, options: FoldOptions
) -> Floats:
    """(n_starts, n_unknowns): roots deep inside the silhouette, limbs bent at random."""
    low, high = limits(options)
    n = options.n_starts
    inside = np.argwhere(grid.values < 0.5 * grid.values.min())
    cells = inside[rng.integers(len(inside), size=n)][:, ::-1]
    x = np.empty((n, low.size))
    x[:, :2] = (grid.origin + cells * grid.cell) / height
    x[:, 2:-N_SCALES] = rng.uniform(-0.75, 0.75, (n, N_BONES)) * high[2:-N_SCALES]
    x[:, -N_SCALES:] = 0.85
    return x


def rethrow(x: Floats, n: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """`n` variants of folds (n_parents, n_unknowns), each with one limb thrown anew, and
    which scales have to grow again, (n, n_scales) of 0 and 1.
    """
    _, high = limits(FoldOptions())
    parents = np.arange(n) % len(x)
    limb = rng.integers(len(GROUPS), size=n)
    out, anew = x[parents].copy(), np.zeros((n, N_SCALES))
    bends = rng.uniform(-0.75, 0.75, (n, N_BONES)) * high[2:-N_SCALES]
    thrown = np.array(GROUP_OF_BONE) == limb[:, None]  # (n, n_bones)
    turns = out[:, 2:-N_SCALES]
    turns[thrown] = bends[thrown]
    rows = np.arange(n)
    anew[rows, limb] = anew[rows, limb + len(GROUPS)] = 1.0
    return out, anew


def descend(
    body: Body,
    grid: DistanceGrid,
    x: Floats,
    options: FoldOptions,
    *,
    n_steps: int,
    growing: Floats | None = None,
    rate: float = 0.06,
) -> Floats:
    """All starts go downhill side by side with Adam steps (Kingma & Ba 2015), kept in
    limits.

    growing : (n_starts, n_scales) of 0 and 1, all where absent. What grows starts small: a
    limb that grows inside one part of the vehicle bends there, while a full-sized one
    thrown across a narrow gap stays stuck across it.
    """
    low, high = limits(options)
    growing = np.ones((len(x), N_SCALES)) if growing is None else growing
    mean, spread = np.zeros_like(x), np.zeros_like(x)
    floor = np.broadcast_to(low, x.shape).copy()
    x = x.copy()
    for step in range(n_steps):
        share = step / n_steps
        grown = min(
            1.0, options.seedling + (1 - options.seedling) * share / options.grown_by
        )
        size = 1 - growing * (1 - grown)
        floor[:, -N_SCALES:] = size * low[-N_SCALES:]
        x[:, -N_SCALES:] = np.clip(x[:, -N_SCALES:], floor[:, -N_SCALES:], size)
        _, slope = energy(body, grid, x, options, firmness=10.0 ** (3 * share - 1))
        mean = 0.9 * mean + 0.1 * slope
        spread = 0.98 * spread + 0.02 * slope**2
        unbiased = np.sqrt(spread / (1 - 0.98 ** (step + 1))) + 1e-9
        pace = rate * (1 - share) ** 1.5 + 0.001
        x = np.clip(x - pace * mean / (1 - 0.9 ** (step + 1)) / unbiased, floor, high)
    return np.clip(x, low, high)
