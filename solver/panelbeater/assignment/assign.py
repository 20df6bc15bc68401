"""Decides which piece covers which region."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from panelbeater.assignment.candidates import Placement, find_placements, piece_form
from panelbeater.assignment.cells import sample_cells
from panelbeater.assignment.clash import clash_in_words
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.prices import fold_map, price_placements
from panelbeater.assignment.reasons import explain
from panelbeater.assignment.refine import refine_placements
from panelbeater.assignment.solve import choose
from panelbeater.assignment.stow import charge_stowed, stowed_placements
from panelbeater.assignment.table import Case, cover_matrix
from panelbeater.effort import QUIET, Effort
from panelbeater.errors import NoAssignmentError
from panelbeater.kinematics.chain import bodies_on_stage, skeleton_of, stage_from_bones
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
    found = find_placements(drawing.pieces, figure, ground, options, effort)
    placed = {place.piece for place in found}
    placements = (*found, *stowed_placements(drawing.pieces, figure, placed))
    homeless = sorted(
        {p.id for p in drawing.pieces}
        - {drawing.pieces[place.piece].id for place in placements}
    )
    if homeless and not effort.is_stopped:
        raise NoAssignmentError(
            f"no place on the robot for {', '.join(homeless)}: every region is banned or "
            "too far from its size; free a pin or a ban, or widen scale_min and scale_max"
        )
    return Pool(placements, ground, options)


def assign_pieces(
    drawing: Drawing,
    figure: Figure,
    fold: Fold,
    pool: Pool,
    *,
    seed: int,
    budget: float = 1.0,
    effort: Effort = QUIET,
) -> Assignment:
    """Lay every piece: HiGHS and CP-SAT on the pool, then an exact continuous refinement.

    `value` and `bound` speak of the discrete choice over the pool, before refinement.
    Raises NoAssignmentError naming the smallest set of wishes that clash.
    """
    case = case_of(drawing, figure, fold, pool)
    return lay(case, pool, seed=seed, budget=budget, effort=effort)


def case_of(drawing: Drawing, figure: Figure, fold: Fold, pool: Pool) -> Case:
    """Placements with what they cover and cost under one fold."""
    options, skeleton = pool.options, skeleton_of(figure)
    price = price_placements(
        drawing.pieces, pool.placements, figure,
        fold_map(
            stage_from_bones(skeleton, skeleton.rest), stage_from_bones(skeleton, fold.pose)
        ),
        bodies_on_stage(skeleton, fold.pose), options,
    )  # fmt: skip
    cells = sample_cells(figure, options.n_cells)
    covers = cover_matrix(pool.placements, cells)
    charge_stowed(pool.placements, price, covers, options.stow_price)
    return Case(drawing.pieces, figure, pool.placements, cells, covers, price, options)


def lay(
    case: Case,
    pool: Pool,
    *,
    seed: int,
    budget: float,
    effort: Effort,
    earlier: Sequence[Mapping[str, str]] = (),
    n_different: int = 0,
    movable: Collection[int] | None = None,
) -> Assignment:
    """Choose, settle and explain one layout that differs from the earlier ones.

    movable : the pieces to settle and to give reasons for; all of them when left out.
    """
    effort.note(f"choosing among {len(case.placements)} placements")
    options = case.options
    choice = choose(
        case, seed=seed, deterministic_time=options.deterministic_time * budget,
        effort=effort, earlier=earlier, n_different=n_different,
    )  # fmt: skip
    if choice.proof == "infeasible":
        raise NoAssignmentError(
            "no further layout differs enough" if earlier else clash_in_words(case)
        )
    effort.note("settling the pieces")
    forms = [piece_form(i, piece, options) for i, piece in enumerate(case.pieces)]
    laid = refine_placements(
        [case.placements[j] for j in choice.chosen], forms, case.pieces, case.figure,
        pool.ground, options, n_rounds=3, effort=effort, movable=movable,
    )  # fmt: skip
    effort.note("weighing what else each piece could do")
    asked = Asked(options.wanted_cover, options.habits)
    return replace(explain(case, choice, laid, movable), asked=asked)
