"""The whole flow, top to bottom, one call per room: from two drawings to a rig."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import shapely

from panelbeater.assignment import (
    Alternate,
    Pool,
    assign_alternates,
    assign_pieces,
    draft_pieces,
    nearest_fold,
    offer_placements,
)
from panelbeater.drawing import apply_piece_list, cut_to_size, read_drawing
from panelbeater.effort import QUIET, Effort
from panelbeater.errors import DrawingError, NoFoldError
from panelbeater.figure import place_figure, read_figure
from panelbeater.fold import find_folds
from panelbeater.geometry.stage import piece_outlines
from panelbeater.kinematics.chain import skeleton_of
from panelbeater.paths import Stacking, find_rides, frame_width, plan_paths, stack_depths
from panelbeater.rig import sample_rig
from panelbeater.schedule import schedule_moves
from panelbeater.scores import STANDARD, Limits
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing, Shape, Wishes
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Fold
from panelbeater.terms.rig import Rig, Sample
from panelbeater.terms.timing import Schedule, ShotOptions
from panelbeater.unfold import KeyPose, check_poses, unfold_body

FIGURE_SHARE = 1.0
"""Figure area as a share of the vehicle's: more leaves limbs bare, less heaps the pieces
up.
"""
SHRINKS = (0.93, 0.93, 0.93, 0.93, 0.85, 0.85, 0.85)
"""A figure that cannot hide is tried so much smaller each time: gently while the robot
keeps its stature, then boldly, because a bicycle hides only a small body."""


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


@dataclass(frozen=True, slots=True, eq=False)
class ShotPlan:
    """Everything a plan consists of, before it is written down."""

    rig: Rig
    sample: Sample
    """The rig at every whole frame."""
    assignment: Assignment
    schedule: Schedule
    stacking: Stacking | None = None
    """How the draw order was found; None for a plan read back from its file."""


@dataclass(frozen=True, slots=True, eq=False)
class Hidden:
    """The body folded inside the cut vehicle: all that needs no choice of covers."""

    drawing: Drawing
    figure: Figure
    folds: tuple[Fold, ...]
    ground: float
    poses: tuple[KeyPose, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Prepared(Hidden):
    """What many plans of two drawings share: the folded body, and placements."""

    pool: Pool


def plan_shot(
    request: Request,
    effort: Effort = QUIET,
    keep: Callable[[ShotPlan], None] | None = None,
) -> ShotPlan:
    """Read, fold, assign, unfold, schedule, route and rig.

    keep : called early with a whole plan in draft, to fall back on should the search for
    the best be cut short. Raises DrawingError for unusable files, NoFoldError and
    NoAssignmentError when nothing fits.
    """
    shot, hidden = request.shot, hide_body(request, effort)
    draft = draft_shot(hidden, shot, effort) if keep else None
    if keep and draft:
        keep(draft)
    ready = offer_covers(hidden, effort)
    if effort.is_stopped:  # only some pieces were tried
        return draft or draft_shot(hidden, shot, effort)
    assignment = assign_pieces(
        ready.drawing, ready.figure, ready.folds[0], ready.pool,
        seed=shot.seed, budget=shot.budget, effort=effort,
    )  # fmt: skip
    fold = nearest_fold(ready.drawing, ready.figure, ready.folds, assignment, ready.pool)
    return animate(ready, fold, assignment, shot, effort)


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
        yield alternate, animate(ready, fold, layout, titled, effort)


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
    poses = check_poses(request.poses, request.shot)
    effort.note("reading the drawings")
    drawing = read_drawing(request.vehicle, piece_list=request.piece_list)
    standing = read_figure(request.figure)
    effort.note("folding the body")
    figure, folds = _fold_to_fit(drawing, standing, request)
    drawing = _wished(_sized(drawing, figure, request.piece_list), request.wishes)
    ground = float(drawing.silhouette.bounds[3])
    return Hidden(drawing, figure, folds, ground, poses)


def offer_covers(hidden: Hidden, effort: Effort = QUIET) -> Prepared:
    """Where each piece could lie on the robot."""
    effort.note("trying pieces on regions")
    drawing, figure, ground = hidden.drawing, hidden.figure, hidden.ground
    pool = offer_placements(drawing, figure, ground=ground, effort=effort)
    return Prepared(drawing, figure, hidden.folds, ground, hidden.poses, pool)


def animate(
    ready: Hidden,
    fold: Fold,
    assignment: Assignment,
    shot: ShotOptions,
    effort: Effort = QUIET,
) -> ShotPlan:
    """From a fold and an assignment to a rig: unfold, schedule, route."""
    drawing, figure, ground = ready.drawing, ready.figure, ready.ground
    effort.note("unfolding the body")
    skeleton = skeleton_of(figure)
    action = unfold_body(
        skeleton, fold, height=figure.height, ground=ground, shot=shot, poses=ready.poses
    )
    width = frame_width(drawing.silhouette, figure.silhouette)
    rides = find_rides(drawing, skeleton, action, assignment, width=width, shot=shot)
    effort.note("timing the moves")
    travel = rides.travel / figure.height
    schedule = schedule_moves(
        drawing, assignment, action, travel, shot=shot, released=rides.risen, effort=effort
    )
    effort.note("routing the pieces")
    tracks = plan_paths(
        drawing, skeleton, action, assignment, rides, schedule,
        ground=ground, height=figure.height, shot=shot, effort=effort,
    )  # fmt: skip
    drawn = np.tile([piece.depth for piece in drawing.pieces], (shot.n_frames, 1))
    rig = Rig(drawing, figure, fold, action.pose, tracks, drawn, ground, shot)
    sample = sample_rig(rig, np.arange(shot.n_frames, dtype=np.float64))
    effort.note("stacking the pieces")
    stacking = stack_depths(
        [piece_outlines(rig, sample, frame) for frame in range(shot.n_frames)],
        sample.visible, assignment.depths, shot=shot, effort=effort,
    )  # fmt: skip
    rig = replace(rig, depth=stacking.depth)
    return ShotPlan(rig, sample, assignment, schedule, stacking)


def _fold_to_fit(
    drawing: Drawing, standing: Figure, request: Request
) -> tuple[Figure, tuple[Fold, ...]]:
    """The largest figure, from the wished height down, whose body hides in the vehicle."""
    x0, _, x1, ground = drawing.silhouette.bounds
    share = FIGURE_SHARE * drawing.silhouette.area / standing.silhouette.area
    height = request.figure_height or standing.height * share**0.5
    shrinks = () if request.figure_height else SHRINKS
    for attempt in range(len(shrinks) + 1):
        figure = place_figure(
            standing, height=height, centre_x=(x0 + x1) / 2, ground=ground
        )
        try:
            rng = np.random.default_rng(request.shot.seed)
            return figure, find_folds(drawing.silhouette, figure, rng=rng)
        except NoFoldError:
            if attempt == len(shrinks):
                raise
            height *= shrinks[attempt]
    raise AssertionError("unreachable: the last attempt returns or raises")


def _sized(drawing: Drawing, figure: Figure, piece_list: Path | None) -> Drawing:
    """Cut what is larger than any region could wear, then apply the animator's list."""
    regions = [bone.region for bone in figure.bones]
    boxes = [shapely.get_coordinates(shapely.minimum_rotated_rectangle(r)) for r in regions]
    longest = max(float(np.hypot(*np.diff(box, axis=0).T).max()) for box in boxes)
    largest = max(region.area for region in regions)
    cut = cut_to_size(
        drawing, largest_area=1.1 * largest, longest=1.2 * longest,
        min_pieces=len(regions) + 3, piece_list=piece_list,
    )  # fmt: skip
    return apply_piece_list(cut, piece_list) if piece_list else cut


def _wished(drawing: Drawing, wishes: Mapping[str, Wishes]) -> Drawing:
    """Pins and bans of the brief on top of what the piece list says."""
    known = {piece.id for piece in drawing.pieces}
    unknown = sorted(set(wishes) - known)
    if unknown:
        raise DrawingError(
            f"no piece {unknown[0]!r} to pin or ban; there are {', '.join(sorted(known))}"
        )
    pieces = tuple(
        replace(p, outline=_off_grid(p.outline), wishes=wishes.get(p.id, p.wishes))
        for p in drawing.pieces
    )
    return replace(drawing, pieces=pieces)


def _off_grid(shape: Shape) -> Shape:
    """The same corners, no longer tied to the grid they were read on.

    On a grid a centroid snaps to it, and a piece read back from plan.json, where the grid
    is not kept, would turn about another point.
    """
    return shapely.set_precision(shape, 0, mode="pointwise")
