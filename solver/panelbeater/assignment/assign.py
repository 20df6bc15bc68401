"""Decides which piece covers which region."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from panelbeater.assignment.around import placements_around
from panelbeater.assignment.bending import bend_covers
from panelbeater.assignment.candidates import Placement, laid_again
from panelbeater.assignment.clash import (
    clash_in_words,
    forbidden_placements,
    homeless_in_words,
)
from panelbeater.assignment.columns import grow
from panelbeater.assignment.jigsaw import (
    exchanged,
    jigsaw_placements,
    placements_in_gaps,
)
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.prices import Folded, folded_under, way_prices
from panelbeater.assignment.reasons import explain
from panelbeater.assignment.refine import refine_placements
from panelbeater.assignment.relax import relax
from panelbeater.assignment.rows import rows_of
from panelbeater.assignment.sampling import cover_matrix, sight_of, still_prices
from panelbeater.assignment.search import Search, find_placements
from panelbeater.assignment.solve import Choice, build, choose
from panelbeater.assignment.stacking import stacking
from panelbeater.assignment.stow import charge_stowed, stowed_placements
from panelbeater.assignment.table import UNIT, Case
from panelbeater.assignment.together import refine_together
from panelbeater.effort import QUIET, Effort
from panelbeater.errors import NoAssignmentError
from panelbeater.kinematics.chain import skeleton_of
from panelbeater.terms.arrays import Ints
from panelbeater.terms.assignment import Asked, Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Fold


@dataclass(frozen=True, slots=True, eq=False)
class Pool:
    """Placements of all pieces, found once and offered to every fold."""

    placements: tuple[Placement, ...]
    ground: float
    options: AssignmentOptions
    bound: float = np.inf
    """No layout of raster placements is worth more; infinite before the pool is grown."""
    n_tried: int = 0
    """Placements of the raster that `bound` speaks of."""
    start: tuple[int, ...] = ()
    """Placements that go together, to start from."""


def offer_placements(
    drawing: Drawing,
    figure: Figure,
    *,
    ground: float,
    options: AssignmentOptions | None = None,
    effort: Effort = QUIET,
) -> Pool:
    """Where each piece could lie; independent of the fold.

    Stopped early, the pool holds the first pieces only. Raises NoAssignmentError naming the
    pieces that fit nowhere under their pins and bans.
    """
    options = options or AssignmentOptions()
    search = Search.over(drawing.pieces, figure, ground, options)
    found = find_placements(search, search.plain_worths(), effort=effort)
    flush, laid = jigsaw_placements(search, effort=effort)
    start = tuple(len(found) + k for k in laid)
    found += flush
    placed = {place.piece for place in found}
    placements = (*found, *stowed_placements(drawing.pieces, figure, placed))
    placed = {place.piece for place in placements}
    homeless = [piece for i, piece in enumerate(drawing.pieces) if i not in placed]
    if homeless and not effort.is_stopped:
        raise NoAssignmentError(homeless_in_words(homeless))
    return Pool(placements, ground, options, start=start)


def assign_pieces(
    drawing: Drawing,
    figure: Figure,
    fold: Fold,
    pool: Pool,
    *,
    seed: int,
    budget: float = 1.0,
    effort: Effort = QUIET,
    keep: Callable[[Assignment], None] | None = None,
    so_far: Assignment | None = None,
) -> Assignment:
    """Lay every piece: HiGHS and CP-SAT on the pool, then an exact continuous refinement.

    keep : called with each better layout on the way, not yet refined.
    so_far : a layout under the same wishes, to go on from where no first one is better.
    `value` and `bound` speak of the discrete choice over the pool, before refinement.
    Raises NoAssignmentError naming the smallest set of wishes that clash.
    """
    pool = grow_pool(drawing, figure, fold, pool, effort=effort)
    if so_far:
        flat = tuple(
            replace(cover, bend=None) for cover in so_far.covers
        )  # bent at the end
        laid = (*pool.placements, *laid_again(drawing, replace(so_far, covers=flat)))
        start = tuple(range(len(pool.placements), len(laid)))
        pool = replace(pool, placements=laid, start=start)
    return lay(
        drawing, figure, fold, pool, seed=seed, budget=budget, effort=effort, keep=keep
    )


def case_of(drawing: Drawing, figure: Figure, fold: Fold, pool: Pool) -> Case:
    """Placements with what they cover and cost under one fold."""
    search = Search.over(drawing.pieces, figure, pool.ground, pool.options)
    folded = folded_under(drawing.pieces, skeleton_of(figure), fold.pose)
    return _case(search, pool.placements, folded)


def _case(search: Search, placements: Sequence[Placement], folded: Folded) -> Case:
    options = search.options
    price = still_prices(search, placements)
    price += way_prices(placements, search.figure, folded, options)
    covers = cover_matrix(search, placements)
    charge_stowed(placements, price, covers, options.stow_price)
    return Case(
        search.pieces, search.figure, tuple(placements), search.cells, covers, price,
        options, sight_of(search, placements),
    )  # fmt: skip


def best_fold(drawing: Drawing, figure: Figure, folds: Sequence[Fold], pool: Pool) -> Fold:
    """The fold under which pieces can be laid best: each likes bones that are near.

    Compares the relaxed layouts over the pool; folds change nothing but the ways.
    """
    if len(folds) == 1:
        return folds[0]
    search = Search.over(drawing.pieces, figure, pool.ground, pool.options)
    skeleton, placed = skeleton_of(figure), pool.placements
    folded = [folded_under(drawing.pieces, skeleton, fold.pose) for fold in folds]
    ways = [way_prices(placed, figure, one, pool.options) for one in folded]
    model, table = build(_case(search, pool.placements, folded[0]))
    rows = rows_of(model, len(table.chosen))
    values = []
    for way in ways:
        worth = rows.worth.copy()
        worth[: len(placed)] -= np.round((way - ways[0]) * UNIT)
        try:
            values.append(relax(replace(rows, worth=worth)).value)
        except ValueError:  # wishes that clash: told where the layout is chosen
            return folds[0]
    return folds[int(np.argmax(values))]


def grow_pool(
    drawing: Drawing, figure: Figure, fold: Fold, pool: Pool, *, effort: Effort = QUIET
) -> Pool:
    """The pool with the placements that its own dual prices call for under one fold."""
    search = Search.over(drawing.pieces, figure, pool.ground, pool.options)
    folded = folded_under(drawing.pieces, skeleton_of(figure), fold.pose)
    grown = grow(search, _case(search, pool.placements, folded), folded, effort=effort)
    return replace(
        pool, placements=grown.placements, bound=grown.bound, n_tried=grown.n_tried
    )


def lay(
    drawing: Drawing,
    figure: Figure,
    fold: Fold,
    pool: Pool,
    *,
    seed: int,
    budget: float,
    effort: Effort,
    earlier: Sequence[Mapping[str, str]] = (),
    n_different: int = 0,
    movable: Collection[int] | None = None,
    keep: Callable[[Assignment], None] | None = None,
) -> Assignment:
    """Choose, settle and explain one layout that differs from the earlier ones.

    movable : the pieces to settle and to give reasons for; all of them when left out.
    """
    effort.note(f"choosing among {len(pool.placements)} placements")
    options = pool.options
    search = Search.over(drawing.pieces, figure, pool.ground, options)
    folded = folded_under(drawing.pieces, skeleton_of(figure), fold.pose)

    def grown(case: Case, chosen: Ints) -> Case:
        found = list(placements_around(search, case, chosen, folded))
        found += placements_in_gaps(search, case, chosen)
        return case.with_more(_case(search, found, folded)) if found else case

    def better(case: Case, chosen: Ints, value: float) -> None:
        if keep:
            choice = Choice(chosen, value, max(pool.bound, value), "the best so far")
            keep(_told(search, case, choice, [case.placements[j] for j in chosen]))

    case = _case(search, pool.placements, folded)
    choice = choose(
        case, seed=seed,
        deterministic_time=options.deterministic_time * budget, effort=effort,
        earlier=earlier, n_different=n_different, grown=grown, better=better,
        start=pool.start,
    )  # fmt: skip
    case = choice.case or case
    if choice.proof == "infeasible":
        if earlier:
            raise NoAssignmentError("no further layout differs enough")
        more = list(forbidden_placements(search))
        whole = case.with_more(_case(search, more, folded)) if more else case
        raise NoAssignmentError(clash_in_words(whole))
    effort.note("settling the pieces")
    forms = [ways.form for ways in search.ways]
    laid: Sequence[Placement] = [case.placements[j] for j in choice.chosen]
    if movable is None:
        laid = exchanged(search, laid)
    n_rounds = 6 if movable is None else 3  # a few alone are settled sooner
    laid = refine_placements(
        laid, forms, case.pieces, case.figure,
        pool.ground, options, n_rounds=n_rounds, effort=effort, movable=movable,
    )  # fmt: skip
    if movable is None:  # a few alone are settled: half a second for nothing seen
        laid = refine_together(
            laid, forms, case.pieces, case.figure, pool.ground, options, effort=effort
        )
    effort.note("weighing what else each piece could do")
    done = _told(search, case, choice, laid, movable)
    if np.isfinite(pool.bound):
        bound = max(pool.bound, choice.value)
        done = replace(done, raster_bound=bound, n_raster=pool.n_tried)
    effort.note("bending the panels")
    covers = bend_covers(
        case.pieces, case.figure, done.covers, pool.ground, effort=effort, movable=movable
    )
    return replace(done, covers=covers)


def _told(
    search: Search,
    case: Case,
    choice: Choice,
    laid: Sequence[Placement],
    which: Collection[int] | None = None,
) -> Assignment:
    asked = Asked(search.options.wanted_cover, search.options.habits)
    depths = stacking(case.pieces, laid, [ways.form for ways in search.ways])
    return replace(explain(case, choice, laid, which), asked=asked, depths=depths)
