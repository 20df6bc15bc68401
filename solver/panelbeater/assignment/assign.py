"""Decides which piece covers which region, and says why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from panelbeater.assignment.candidates import Placement, find_placements, piece_form
from panelbeater.assignment.cells import sample_cells
from panelbeater.assignment.clash import clash_in_words
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.prices import fold_map, price_placements
from panelbeater.assignment.refine import refine_placements
from panelbeater.assignment.solve import Choice, choose
from panelbeater.assignment.table import Case, cover_matrix
from panelbeater.effort import QUIET, Effort
from panelbeater.errors import NoAssignmentError
from panelbeater.geometry.overlay import joined, shared, without
from panelbeater.kinematics.chain import bodies_on_stage, skeleton_of, stage_from_bones
from panelbeater.terms.assignment import Assignment, Cover
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
    placements = tuple(find_placements(drawing.pieces, figure, ground, options, effort))
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
) -> Assignment:
    """Choose, settle and explain one layout that differs from the earlier ones."""
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
        pool.ground, options, n_rounds=3, effort=effort,
    )  # fmt: skip
    return explain(case, choice, laid)


def explain(case: Case, choice: Choice, laid: Sequence[Placement]) -> Assignment:
    """The layout as covers, each with what it gains and why it lies there."""
    figure, total = case.figure, case.figure.silhouette.area
    covers = []
    for i, (piece, place) in enumerate(zip(case.pieces, laid, strict=True)):
        region = figure.bones[place.region].region
        others = [
            p.outline for k, p in enumerate(laid) if k != i and p.region == place.region
        ]
        own = shared(place.outline, region)
        gain = without(own, joined(others)).area / total
        covers.append(
            Cover(
                piece.id,
                figure.bones[place.region].id,
                place.stage_from_piece,
                place.scale,
                place.stretch,
                float(gain),
                _reason(case, choice, i, float(gain)),
            )
        )
    return Assignment(
        tuple(covers), choice.value, choice.bound, choice.proof, len(case.placements)
    )


def _reason(case: Case, choice: Choice, piece: int, gain: float) -> str:
    """What the piece wins here, and what its second-best region would have cost."""
    rest = np.delete(np.arange(len(choice.chosen)), piece)
    taken = case.covers[choice.chosen[rest]].any(axis=0)
    bare = np.where(taken, 0.0, case.cells.weight)
    net = case.covers @ bare - case.price
    here = case.placements[choice.chosen[piece]]
    others = [j for j, place in enumerate(case.placements)
              if place.piece == piece and place.region != here.region]  # fmt: skip
    bones = case.figure.bones
    text = f"alone covers {gain:.1%} of the figure on {bones[here.region].id}"
    if case.pieces[piece].wishes.pin:
        return f"pinned; {text}"
    if not others:
        return f"{text}; fits nowhere else"
    second = others[int(net[others].argmax())]
    loss = net[choice.chosen[piece]] - net[second]
    return (
        f"{text}; second best {bones[case.placements[second].region].id}, {loss:+.1%} worse"
    )
