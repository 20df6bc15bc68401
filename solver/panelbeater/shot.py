"""The whole flow, top to bottom, one call per room: from two drawings to a rig."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from panelbeater.animation import Hidden, ShotPlan, animate, animate_unseen, animated
from panelbeater.assignment import (
    Alternate,
    Pool,
    assign_again,
    assign_alternates,
    assign_pieces,
    best_fold,
    draft_pieces,
    free_pieces,
    nearest_fold,
    offer_again,
    offer_placements,
    options_for,
)
from panelbeater.drawing import read_drawing
from panelbeater.effort import QUIET, Effort
from panelbeater.errors import DrawingError
from panelbeater.figure import read_figure
from panelbeater.fold import find_folds
from panelbeater.scores import STANDARD, Limits
from panelbeater.sizing import largest_that_hides, sized, wished
from panelbeater.terms.assignment import Asked, Assignment
from panelbeater.terms.drawing import Wishes
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Fold, KeyPose
from panelbeater.terms.timing import ShotOptions
from panelbeater.unfold import planned_poses


@dataclass(frozen=True, slots=True)
class Request:
    """What the animator asks for."""

    vehicle: Path
    figure: Path
    piece_list: Path | None = None
    figure_height: float | None = None
    """Height of the robot in the vehicle's drawing units; found from the areas if absent.
    """
    wishes: Mapping[str, Wishes] = field(default_factory=dict)
    """Pins and bans by piece id, on top of the piece list."""
    shot: ShotOptions = field(default_factory=ShotOptions)
    poses: tuple[KeyPose, ...] = ()
    """Moments of the body between fold and stand that are hit exactly."""
    limits: Limits = STANDARD
    """Thresholds the finished shot is judged by."""
    asked: Asked = field(default_factory=Asked)
    """Least cover by region, habits in place of the usual ones, what pieces go round."""
    before: ShotPlan | None = None
    """A plan of the same drawings to start from: what no wish touches stays as it was."""


@dataclass(frozen=True, slots=True, eq=False)
class Prepared(Hidden):
    """What many plans of two drawings share: the folded body, and placements."""

    pool: Pool


def plan_shot(
    request: Request,
    effort: Effort = QUIET,
    keep: Callable[[ShotPlan], None] | None = None,
    so_far: ShotPlan | None = None,
) -> ShotPlan:
    """Read, fold, assign, unfold, schedule, route and rig.

    keep : called early with a whole plan in draft, then with each better layout, not yet
    animated: what to fall back on should the search be cut short.
    so_far : the best that a search for the same request kept; goes on from there.
    Raises DrawingError for unusable files, NoFoldError and NoAssignmentError when nothing
    fits.
    """
    if request.before:
        return plan_again(request, request.before, effort)
    draft = animated(so_far, effort) if so_far else None
    if keep and draft:
        keep(draft)
    shot, hidden = request.shot, hide_body(request, effort)
    if keep and not draft:
        draft = draft_shot(hidden, shot, effort)
        keep(draft)
    ready = offer_covers(hidden, effort)
    if effort.is_stopped:  # only some pieces were tried
        return draft or draft_shot(hidden, shot, effort)
    fold = best_fold(ready.drawing, ready.figure, ready.folds, ready.pool)

    def keep_layout(layout: Assignment) -> None:
        if keep and draft:
            depth = np.tile(layout.depths, (shot.n_frames, 1))
            rig = replace(draft.rig, fold=fold, depth=depth)
            layout = layout.keeping_clear(ready.asked)
            keep(replace(draft, rig=rig, assignment=layout, is_animated=False))

    assignment = assign_pieces(
        ready.drawing, ready.figure, fold, ready.pool,
        seed=shot.seed, budget=shot.budget, effort=effort,
        keep=keep_layout if keep else None, so_far=so_far.assignment if so_far else None,
    )  # fmt: skip
    fold = nearest_fold(ready.drawing, ready.figure, ready.folds, assignment, ready.pool)
    return animate_unseen(ready, fold, assignment, shot, effort)


def plan_again(request: Request, before: ShotPlan, effort: Effort = QUIET) -> ShotPlan:
    """Plan from an earlier plan of the same drawings: body, fold and every cover stay,
    save where pins, bans or the piece list now say otherwise.

    Raises DrawingError when the vehicle is no longer that of the plan, else as plan_shot.
    """
    effort.note("reading the drawings")
    rig, shot = before.rig, request.shot
    poses = planned_poses(request.poses, shot)
    read = read_drawing(request.vehicle, piece_list=request.piece_list)
    drawing = wished(
        sized(read, rig.figure, request.piece_list), request.wishes, request.asked
    )
    then = {piece.id: piece.outline for piece in rig.drawing.pieces}
    now = {piece.id: piece.outline for piece in drawing.pieces}
    if then.keys() != now.keys() or not all(then[i].equals(now[i]) for i in then):
        raise DrawingError(
            f"{request.vehicle.name}: its pieces are no longer those of the plan to start "
            "from; plan anew, without --from"
        )
    effort.note("trying pieces on regions")
    free = free_pieces(drawing, before.assignment)
    pool = offer_again(
        drawing, rig.figure, before.assignment, free, ground=rig.ground,
        options=options_for(request.asked), effort=effort,
    )  # fmt: skip
    assignment = assign_again(
        drawing, rig.figure, rig.fold, pool, before.assignment, seed=shot.seed,
        budget=shot.budget, effort=effort,
    )  # fmt: skip
    hidden = Hidden(drawing, rig.figure, (rig.fold,), rig.ground, poses, request.asked)
    return animate(hidden, rig.fold, assignment, shot, effort)


def plan_alternates(
    request: Request, n_alternates: int, effort: Effort = QUIET
) -> Iterator[tuple[Alternate, ShotPlan]]:
    """Several different layouts of one pair of drawings, each as a full plan.

    Raises as plan_shot does.
    """
    shot, hidden = request.shot, hide_body(request, effort)
    ready = offer_covers(hidden, effort)
    if effort.is_stopped:  # only some pieces were tried
        plan = draft_shot(hidden, shot, effort)
        yield Alternate("a first draft", plan.assignment, 0.0, 0), plan
        return
    alternates = assign_alternates(
        ready.drawing, ready.figure, ready.folds[0], ready.pool,
        n_alternates=n_alternates, seed=shot.seed, budget=shot.budget, effort=effort,
    )  # fmt: skip
    for alternate in alternates:
        layout = alternate.assignment
        fold = nearest_fold(ready.drawing, ready.figure, ready.folds, layout, ready.pool)
        titled = replace(shot, title=f"{shot.title}: {alternate.name}")
        yield alternate, animate_unseen(ready, fold, layout, titled, effort)


def prepare_shot(request: Request, effort: Effort = QUIET) -> Prepared:
    """Everything that depends neither on the shot's length nor on the choice of covers."""
    return offer_covers(hide_body(request, effort), effort)


def draft_shot(hidden: Hidden, shot: ShotOptions, effort: Effort = QUIET) -> ShotPlan:
    """A whole plan in a few seconds, over a coarse choice of placements."""
    effort.note("drafting a first plan")
    layout = draft_pieces(
        hidden.drawing, hidden.figure, hidden.folds[0], ground=hidden.ground
    )
    return animate(hidden, hidden.folds[0], layout, shot, effort)


def hide_body(request: Request, effort: Effort = QUIET) -> Hidden:
    """Read both drawings, fold the body inside the vehicle, cut the pieces to its size."""
    poses = planned_poses(request.poses, request.shot)
    effort.note("reading the drawings")
    drawing = read_drawing(request.vehicle, piece_list=request.piece_list)
    standing = read_figure(request.figure)
    effort.note("folding the body")

    def hide(figure: Figure, patience: int) -> tuple[Fold, ...]:
        rng, outline = np.random.default_rng(request.shot.seed), drawing.silhouette
        return find_folds(outline, figure, rng=rng, patience=patience, effort=effort)

    figure, folds = largest_that_hides(drawing, standing, request.figure_height, hide)
    drawing = wished(
        sized(drawing, figure, request.piece_list), request.wishes, request.asked
    )
    ground = float(drawing.silhouette.bounds[3])
    return Hidden(drawing, figure, folds, ground, poses, request.asked)


def offer_covers(hidden: Hidden, effort: Effort = QUIET) -> Prepared:
    """Where each piece could lie on the robot."""
    effort.note("trying pieces on regions")
    drawing, figure, ground = hidden.drawing, hidden.figure, hidden.ground
    pool = offer_placements(
        drawing, figure, ground=ground, options=options_for(hidden.asked), effort=effort
    )
    return Prepared(drawing, figure, hidden.folds, ground, hidden.poses, hidden.asked, pool)
