"""Folds the skeleton until it hides inside the vehicle silhouette."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from panelbeater.effort import QUIET, Effort
from panelbeater.errors import NoFoldError
from panelbeater.fold.descent import descend, rethrow, scatter
from panelbeater.fold.energy import Body, FoldOptions, energy, sample_body, unpack
from panelbeater.fold.hiding import LEAK_MAX, hide
from panelbeater.geometry.distance import DistanceGrid, distance_grid
from panelbeater.geometry.overlay import without
from panelbeater.kinematics.chain import Skeleton, bodies_on_stage, place_bones, skeleton_of
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import BONE_IDS, Figure
from panelbeater.terms.pose import Fold

PATIENCE = 6
"""Times, of two seconds each, that limbs are thrown or bodies grown once more where too few
hide: the hardest containers take twenty seconds in all."""


def find_folds(
    silhouette: Shape,
    figure: Figure,
    *,
    rng: np.random.Generator,
    n_folds: int = 4,
    options: FoldOptions | None = None,
    patience: int = PATIENCE,
    effort: Effort = QUIET,
) -> tuple[Fold, ...]:
    """Folds that hide, all different, the least foreshortened and shortest unfold first.

    Many cheap starts go down the analytic gradient together; then the best are kept and
    one limb at a time is thrown anew, for as long as the options allow; the survivors are
    pulled in until the exact area of what sticks out keeps the promise. Where fewer than
    `enough` hide, new bodies grow whose limbs may be drawn shorter for less; and where that
    does not do, limbs are thrown and bodies grown in turns, `patience` times. When stopped,
    whatever hides by then is enough.

    Raises NoFoldError, carrying the nearest fold, when nothing hides.
    """
    options = options or FoldOptions()
    body = sample_body(skeleton_of(figure), figure.height)
    grid = distance_grid(silhouette)
    if grid.values.min() >= 0:
        raise NoFoldError(
            "the vehicle is too thin to hide a body in: no part of it is wider than "
            f"{grid.cell:.3g}; draw it fuller"
        )
    search = _Search(body, grid, silhouette, rng, options, effort)
    search.improve(options.n_rounds)
    folds = search.folds(n_folds)
    enough = 1 if effort.is_stopped else min(options.enough, n_folds)
    if len(folds) < enough:
        search.start_afresh()
        folds = search.folds(n_folds)
    if 0 < len(folds) < enough:
        search.improve(options.n_more_rounds)
        folds = search.folds(n_folds)
    for turn in range(patience):
        if len(folds) >= enough or effort.is_stopped:
            break
        if turn % 3 == 2:  # limbs thrown twice in vain hang on bodies that lie badly
            search.start_afresh()
        else:
            search.improve(options.n_more_rounds)
        folds = search.folds(n_folds)
    if not folds:
        raise _refusal(body.skeleton, search.nearest, silhouette)
    return folds


class _Search:
    """A pool of folds that differ, cheapest first, and what has been found to hide."""

    def __init__(
        self,
        body: Body,
        grid: DistanceGrid,
        silhouette: Shape,
        rng: np.random.Generator,
        options: FoldOptions,
        effort: Effort,
    ) -> None:
        self._body, self._grid, self._silhouette = body, grid, silhouette
        self._sketch = sample_body(body.skeleton, body.height, options.n_sketch)
        self._rng, self._options, self._wished = rng, options, options
        self._effort = effort
        self._found: list[tuple[float, Floats, float]] = []
        self._tried: set[bytes] = set()
        self._pool = self._differing(self._grown())

    def improve(self, n_rounds: int) -> None:
        """Throw one limb of a good fold anew, let it grow into place, keep the best."""
        options = self._options
        for _ in range(n_rounds):
            if self._effort.is_stopped:
                break
            parents = self._pool[: options.n_parents]
            thrown, anew = rethrow(parents, options.n_starts, self._rng)
            thrown = descend(
                self._sketch, self._grid, thrown, options,
                n_steps=options.n_rethrow_steps, growing=anew,
            )  # fmt: skip
            self._pool = self._differing(np.concatenate([self._pool, thrown]))

    def start_afresh(self) -> None:
        """Grow new bodies, for which a shorter or thinner limb costs less than one that
        shows. Those grown before are let go: where nothing hides, they hang across a gap
        that only a shorter limb does not reach.
        """
        less = self._options.relief
        self._options = replace(
            self._wished,
            shorter_weight=less * self._wished.shorter_weight,
            thinner_weight=less * self._wished.thinner_weight,
        )
        self._pool = self._differing(self._grown())

    def folds(self, n_folds: int) -> tuple[Fold, ...]:
        """What hides among the best not yet tried and those found before, all different."""
        fresh = [x for x in self._pool if x.tobytes() not in self._tried]
        tries = np.array(fresh[: 3 * n_folds]).reshape(-1, self._pool.shape[1])
        settled, leaks = hide(
            self._body, self._grid, self._silhouette, tries, self._options
        )
        self._tried |= {x.tobytes() for x in [*tries, *settled]}
        # Settled folds are the best parents for limbs that are still to be thrown.
        self._pool = self._differing(np.concatenate([settled, self._pool]))
        # The edge is kept by now: what is left is how bent, short and heaped the body is.
        cost, _ = energy(self._body, self._grid, settled, self._wished, firmness=0.0)
        self._found += zip(cost.tolist(), settled, leaks.tolist(), strict=True)
        self._found.sort(key=lambda one: one[0])
        kept: list[Fold] = []
        for _, x, leak in self._found:
            fold = _fold(self._body, x, leak)
            if leak <= LEAK_MAX and _is_new(self._body, fold, kept):
                kept.append(fold)
        return tuple(kept[:n_folds])

    @property
    def nearest(self) -> Fold:
        """The fold that leaks least."""
        _, x, leak = min(self._found, key=lambda one: one[2])
        return _fold(self._body, x, leak)

    def _grown(self) -> Floats:
        starts = scatter(self._grid, self._body.height, self._rng, self._options)
        return descend(
            self._sketch, self._grid, starts, self._options, n_steps=self._options.n_steps
        )

    def _differing(self, x: Floats) -> Floats:
        """The cheapest of (n, n_unknowns), each unlike all before it."""
        cost, _ = energy(self._sketch, self._grid, x, self._options, firmness=1000.0)
        joints, _ = place_bones(self._body.skeleton, unpack(self._body, x))
        kept: list[int] = []
        for k in np.argsort(cost, kind="stable").tolist():
            if _differs(joints[k], joints[kept], self._body.height):
                kept.append(k)
            if len(kept) == self._options.n_pool:
                break
        return x[kept]


def _fold(body: Body, x: Floats, leak: float) -> Fold:
    pose = unpack(body, x)
    lengths, widths = pose.scales.min(axis=0)
    return Fold(pose, leak, float(lengths), float(widths))


def _is_new(body: Body, fold: Fold, others: Sequence[Fold]) -> bool:
    """True when some joint lies elsewhere than in every fold kept so far."""
    here, _ = place_bones(body.skeleton, fold.pose)
    there = [place_bones(body.skeleton, other.pose)[0] for other in others]
    return _differs(here, np.array(there).reshape(-1, *here.shape), body.height)


def _differs(joints: Points, others: Points, height: float) -> bool:
    """True when in each of `others` (n, n_bones, 2) some joint lies a tenth of the height
    away.
    """
    far = np.linalg.norm(others - joints, axis=-1).max(axis=-1)  # (n,)
    return bool((far >= 0.1 * height).all())


def _refusal(skeleton: Skeleton, fold: Fold, silhouette: Shape) -> NoFoldError:
    """What of which limbs shows in the fold that leaks least."""
    bodies = dict(zip(BONE_IDS, bodies_on_stage(skeleton, fold.pose), strict=True))
    out = {name: without(body, silhouette) for name, body in bodies.items()}
    shares = {name: out[name].area / body.area for name, body in bodies.items()}
    worst = sorted(BONE_IDS, key=lambda name: (-shares[name], name))[:4]
    told = ", ".join(f"{name} {shares[name]:.0%}" for name in worst)
    return NoFoldError(
        f"the body does not fit inside the vehicle: the nearest fold leaks {fold.leak:.2%} "
        f"(allowed {LEAK_MAX:.1%}); most of it {told}; make the figure smaller "
        "or the vehicle fuller",
        {name: out[name] for name in worst if not out[name].is_empty},
    )
