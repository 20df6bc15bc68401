"""Several layouts worth choosing between, each a different idea."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from panelbeater.assignment.assign import Pool, case_of, grow_pool, lay
from panelbeater.assignment.candidates import laid_again
from panelbeater.assignment.greedy import worth
from panelbeater.assignment.ideas import ideas_for
from panelbeater.assignment.prices import folded_under, way_prices
from panelbeater.effort import QUIET, Effort
from panelbeater.errors import NoAssignmentError
from panelbeater.kinematics.chain import skeleton_of
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import Figure, without_side
from panelbeater.terms.pose import Fold

DIFFERENT = 0.2
"""Share of the pieces that lie on another region in any two alternates."""
CLOSE = 0.05
"""An alternate that is worth less than the first by more than this says so."""


@dataclass(frozen=True, slots=True, eq=False)
class Alternate:
    """One idea and how it compares with the first."""

    name: str
    assignment: Assignment
    loss: float
    """How much less it is worth than the first under the first one's prices, a ratio."""
    n_different: int
    """Fewest pieces that lie elsewhere than in any alternate before it; the same region on
    the other side is not elsewhere."""

    @property
    def is_close(self) -> bool:
        """Is it nearly as good as the first?"""
        return self.loss <= CLOSE


def assign_alternates(
    drawing: Drawing,
    figure: Figure,
    fold: Fold,
    pool: Pool,
    *,
    n_alternates: int,
    seed: int,
    budget: float = 1.0,
    effort: Effort = QUIET,
) -> tuple[Alternate, ...]:
    """Up to `n_alternates` layouts, pairwise different in at least DIFFERENT of the pieces
    and in `different_area` of the drawing.

    The first weighs all as a plan does; the next lean along the trade-off between coverage,
    kept vehicle and travel, then to other uses of the vehicle; the rest are the best
    layouts that differ from all before. Fewer come back when no further layout differs
    enough.
    """
    n_different = max(1, int(np.ceil(DIFFERENT * len(drawing.pieces))))
    # Grown under the first idea's prices: for the others its bound says nothing.
    grown = grow_pool(drawing, figure, fold, pool, effort=effort)
    pool = replace(grown, bound=np.inf)
    found: list[Alternate] = []
    best = 0.0
    for idea, k in zip(ideas_for(drawing.pieces), range(n_alternates), strict=False):
        leaning = replace(pool, options=idea.options(pool.options))
        effort.note(f"alternate {k + 1} of {n_alternates}: {idea.name}")
        earlier = [layout_of(done.assignment) for done in found]
        try:
            assignment = lay(
                drawing, figure, fold, leaning, seed=seed, budget=budget, effort=effort,
                earlier=earlier, n_different=n_different,
            )  # fmt: skip
        except NoAssignmentError:
            if not found:
                raise
            break
        apart = [n_elsewhere(layout_of(assignment), other) for other in earlier]
        value = _worth(drawing, figure, fold, pool, assignment)
        best = value if not found else best
        loss = (best - value) / abs(best)
        is_kept = idea.is_kept_by(drawing.pieces, layout_of(assignment))
        name = idea.name if is_kept else f"not {idea.name}, another way"
        found.append(Alternate(name, assignment, loss, min(apart, default=0)))
        if effort.is_stopped:
            break
    return tuple(found)


def n_elsewhere(layout: Mapping[str, str], other: Mapping[str, str]) -> int:
    """How many pieces lie on another region; left for right does not count."""
    return sum(
        without_side(layout[piece]) != without_side(other[piece]) for piece in layout
    )


def layout_of(assignment: Assignment) -> dict[str, str]:
    """Region id by piece id."""
    return {cover.piece: cover.region for cover in assignment.covers}


def nearest_fold(
    drawing: Drawing,
    figure: Figure,
    folds: Sequence[Fold],
    assignment: Assignment,
    pool: Pool,
) -> Fold:
    """The fold that lets the pieces of a layout travel least on their way to the body."""
    skeleton = skeleton_of(figure)
    laid = laid_again(drawing, assignment)
    costs = []
    for fold in folds:
        folded = folded_under(drawing.pieces, skeleton, fold.pose)
        price = way_prices(laid, figure, folded, pool.options)
        costs.append(float(price.sum()))
    return folds[int(np.argmin(costs))]


def _worth(
    drawing: Drawing, figure: Figure, fold: Fold, pool: Pool, assignment: Assignment
) -> float:
    """What a settled layout is worth under the first layout's prices."""
    laid = replace(pool, placements=laid_again(drawing, assignment))
    return worth(case_of(drawing, figure, fold, laid), range(len(drawing.pieces)))
