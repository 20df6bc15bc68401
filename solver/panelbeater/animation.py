"""From a fold and covers to a rig: how the body and the pieces move, one call per room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from panelbeater.assignment import hide_sizes, robot_stacking
from panelbeater.effort import QUIET, Effort
from panelbeater.kinematics.chain import skeleton_of
from panelbeater.paths import (
    Stack,
    find_partings,
    find_rides,
    frame_width,
    hidden_rooms,
    keep_shut,
    plan_paths,
    stack_frames,
)
from panelbeater.rig import hide_stowed, sample_rig, turned_round
from panelbeater.schedule import schedule_moves
from panelbeater.terms.assignment import Asked, Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Fold, KeyPose
from panelbeater.terms.rig import READ, Rig, Sample, Stacking
from panelbeater.terms.timing import Parting, Schedule, ShotOptions
from panelbeater.unfold import open_limbs, unfold_body

MOST_TRIES = 3
"""Times that sizes and ways are fitted to each other: new ways may hide less."""


@dataclass(frozen=True, slots=True, eq=False)
class ShotPlan:
    """Everything a plan consists of, before it is written down."""

    rig: Rig
    sample: Sample
    """The rig at every whole frame."""
    assignment: Assignment
    schedule: Schedule
    stacking: Stacking = READ
    """What was proven of the order on the way."""
    is_animated: bool = True
    """False while the rig still moves the pieces to covers of before."""


@dataclass(frozen=True, slots=True, eq=False)
class Hidden:
    """The body folded inside the cut vehicle: all that needs no choice of covers."""

    drawing: Drawing
    figure: Figure
    folds: tuple[Fold, ...]
    ground: float
    poses: tuple[KeyPose, ...]
    asked: Asked


def animated(plan: ShotPlan, effort: Effort = QUIET) -> ShotPlan:
    """The plan with its pieces on their way to the covers it has now."""
    if plan.is_animated:
        return plan
    rig, asked = plan.rig, plan.assignment.asked
    hidden = Hidden(rig.drawing, rig.figure, (rig.fold,), rig.ground, rig.poses, asked)
    return animate(hidden, rig.fold, plan.assignment, rig.shot, effort)


def animate_unseen(
    ready: Hidden,
    fold: Fold,
    assignment: Assignment,
    shot: ShotOptions,
    effort: Effort = QUIET,
) -> ShotPlan:
    """As `animate`, with pieces resized no further than their ways hide where that costs
    little. A limb that opens alone wears what it wears on the whole robot.
    """
    whole = replace(shot, only=())
    # Ways round each other take longest and tell little of what a way hides.
    unled = replace(ready, asked=replace(ready.asked, clear={}))
    plan = animate(unled, fold, assignment, whole, effort)
    worth_it = np.zeros(len(plan.rig.tracks))
    for _ in range(MOST_TRIES):
        rooms = np.maximum(hidden_rooms(plan.rig, plan.sample), worth_it)
        effort.note("settling the pieces whose change of size would be seen")
        suited = hide_sizes(
            ready.drawing, ready.figure, assignment, rooms,
            ground=ready.ground, effort=effort,
        )  # fmt: skip
        if suited is assignment:
            break
        sizes = np.abs(np.log([cover.scale for cover in suited.covers]))
        worth_it = np.where(np.isclose(sizes, np.minimum(sizes, rooms)), 0.0, sizes)
        assignment = suited
        plan = animate(unled, fold, assignment, whole, effort)
    if shot.only or ready.asked.clear:
        return animate(ready, fold, assignment, shot, effort)
    return plan


def animate(
    ready: Hidden,
    fold: Fold,
    assignment: Assignment,
    shot: ShotOptions,
    effort: Effort = QUIET,
) -> ShotPlan:
    """From a fold and an assignment to a rig: unfold, schedule, route."""
    drawing, figure, ground = ready.drawing, ready.figure, ready.ground
    assignment = assignment.keeping_clear(ready.asked)
    effort.note("unfolding the body")
    skeleton = skeleton_of(figure)
    if shot.only:
        action = open_limbs(skeleton, fold, drawing, assignment, ground=ground, shot=shot)
        assignment = keep_shut(
            drawing, skeleton, fold, assignment, shot.only, height=figure.height
        )
    else:
        action = unfold_body(
            skeleton, fold,
            height=figure.height, ground=ground, shot=shot, poses=ready.poses,
        )  # fmt: skip
    width = frame_width(drawing.silhouette, figure.silhouette)
    rides = find_rides(drawing, skeleton, action, assignment, width=width)
    onwards = replace(shot, reverse=False)  # so it is planned, whichever way it plays
    frames = np.arange(shot.n_frames, dtype=np.float64)
    wish = partial(robot_stacking, drawing, assignment)

    def moved(partings: Sequence[Parting]) -> tuple[Schedule, Rig, Sample, Stack]:
        effort.note("timing the moves")
        schedule = schedule_moves(
            drawing, assignment, action, rides.travel / figure.height,
            shot=shot, partings=partings, effort=effort,
        )  # fmt: skip
        effort.note("routing the pieces")
        tracks = plan_paths(
            drawing, skeleton, action, assignment, rides, schedule,
            ground=ground, height=figure.height, shot=shot, effort=effort,
        )  # fmt: skip
        effort.note("stacking the pieces")
        depth = np.tile(assignment.depths, (shot.n_frames, 1))
        rig = Rig(
            drawing, figure, fold, action.pose, tracks, depth, ground, onwards, ready.poses
        )
        sample = sample_rig(rig, frames)
        return schedule, rig, sample, stack_frames(rig, sample, wish, effort=effort)

    schedule, rig, sample, stack = moved(())
    if partings := find_partings(drawing, rides, schedule, stack.refused, shot):
        again = moved(partings)
        if len(again[-1].refused) < len(stack.refused):
            schedule, rig, sample, stack = again
    assignment = replace(assignment, depths=tuple(stack.depth[-1].tolist()))
    rig = replace(rig, depth=stack.depth)
    rig = replace(hide_stowed(rig, sample, assignment), shot=shot)
    if shot.reverse:
        rig, schedule = turned_round(rig), schedule.turned_round(shot.n_frames)
    return ShotPlan(rig, sample_rig(rig, frames), assignment, schedule, stack.told(drawing))
