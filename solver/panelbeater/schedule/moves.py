"""When each piece leaves and lands: limb by limb, outer first, on time for its bone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from ortools.sat.python import cp_model

from panelbeater.effort import QUIET, Effort, run_solver
from panelbeater.geometry.overlay import shared
from panelbeater.terms.arrays import Floats, Ints
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import BONE_IDS, BONE_TREE, CONTROLLERS
from panelbeater.terms.pose import Action
from panelbeater.terms.timing import FrameSpan, Move, Schedule, ShotOptions


@dataclass(frozen=True, slots=True)
class ScheduleOptions:
    """Frames at 24 a second; longer and shorter shots scale them."""

    shortest_frames: int = 9
    """A move shorter than this pops: peak speed is 1.875 times the mean."""
    frames_per_height: float = 26.0
    """Extra frames for a travel of one figure height."""
    lead_frames: int = 4
    """A piece leaves this much before its bone, so that it rides rather than hangs."""
    within_limb_frames: int = 5
    """Pieces of one limb leave within this of each other: they read as one group."""
    deterministic_time: float = 2.0


def schedule_moves(
    drawing: Drawing,
    assignment: Assignment,
    action: Action,
    travel: Sequence[float] | Floats,
    *,
    shot: ShotOptions,
    options: ScheduleOptions | None = None,
    effort: Effort = QUIET,
) -> Schedule:
    """One interval per piece by CP-SAT.

    travel : (n_pieces,), distance each piece goes in its bone's frame, in figure heights.
    Limbs follow the order of their bones; a piece lands no earlier than its bone comes to
    rest unless the shot is too short; where two pieces of a limb overlap in the drawing
    the nearer should leave first and pays when it does not. Starts keep as close as they
    can to their bone's own start.
    """
    options = options or ScheduleOptions()
    stretch = (shot.moving.stop - shot.moving.start) / 53.0  # the defaults suit 72 frames
    bones = [BONE_IDS.index(cover.region) for cover in assignment.covers]
    lengths = _lengths(travel, shot, options, stretch)
    model = cp_model.CpModel()
    window = FrameSpan(shot.moving.start, max(shot.moving.stop, shot.moving.start + 1))
    starts, ends = [], []
    cost: list[cp_model.LinearExprT] = []
    for i, bone in enumerate(bones):
        span = action.spans[bone]
        latest = max(window.start, min(span.start, window.stop - int(lengths[i])))
        start = model.new_int_var(window.start, latest, f"start_{i}")
        end = model.new_int_var(window.start + 1, window.stop, f"end_{i}")
        model.add(end >= start + int(lengths[i]))
        late = model.new_int_var(0, shot.n_frames, f"early_landing_{i}")
        model.add(late >= min(span.stop, window.stop) - end)
        wished = max(window.start, span.start - round(options.lead_frames * stretch))
        off = model.new_int_var(0, shot.n_frames, f"off_{i}")
        model.add_abs_equality(off, start - wished)
        longer = model.new_int_var(0, shot.n_frames, f"longer_{i}")
        model.add(longer == end - start - int(lengths[i]))
        starts.append(start)
        ends.append(end)
        cost += [2 * off, 3 * late, longer]
    cost += _limb_by_limb(model, bones, starts, round(options.within_limb_frames * stretch))
    for near, far in _outer_first(drawing, bones):
        behind = model.new_bool_var(f"inner_first_{near}_{far}")
        model.add(starts[near] <= starts[far]).only_enforce_if(~behind)
        cost.append(4 * behind)
    model.minimize(sum(cost))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = shot.seed
    solver.parameters.max_deterministic_time = options.deterministic_time * shot.budget
    status = run_solver(solver, model, effort)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        moves = tuple(Move(p.id, window.start, window.stop) for p in drawing.pieces)
        return Schedule(
            moves, "all at once: no staggered schedule found in the time allowed"
        )
    proof = "optimal" if status == cp_model.OPTIMAL else "feasible, not proven best"
    moves = tuple(
        Move(piece.id, solver.value(start), solver.value(end))
        for piece, start, end in zip(drawing.pieces, starts, ends, strict=True)
    )
    return Schedule(moves, proof)


def _lengths(
    travel: Sequence[float] | Floats,
    shot: ShotOptions,
    options: ScheduleOptions,
    stretch: float,
) -> Ints:
    """(n_pieces,) shortest length of each move, in frames."""
    wished = options.shortest_frames + options.frames_per_height * np.asarray(travel)
    room = max(1, shot.moving.stop - shot.moving.start)
    return np.clip(np.round(wished * stretch), 1, max(1, round(0.75 * room))).astype(
        np.int64
    )


def _limb_by_limb(
    model: cp_model.CpModel,
    bones: Sequence[int],
    starts: Sequence[cp_model.IntVar],
    within: int,
) -> list[cp_model.LinearExprT]:
    """Pieces on one limb leave together, or pay for every frame they straggle."""
    cost: list[cp_model.LinearExprT] = []
    for controller in CONTROLLERS:
        mine = [
            starts[i] for i, bone in enumerate(bones) if BONE_TREE[bone][2] == controller
        ]
        if len(mine) < 2:
            continue
        first = model.new_int_var(0, 10_000, f"first_{controller}")
        last = model.new_int_var(0, 10_000, f"last_{controller}")
        straggle = model.new_int_var(0, 10_000, f"straggle_{controller}")
        model.add_min_equality(first, mine)
        model.add_max_equality(last, mine)
        model.add(straggle >= last - first - within)
        cost.append(3 * straggle)
    return cost


def _outer_first(drawing: Drawing, bones: Sequence[int]) -> list[tuple[int, int]]:
    """(nearer, farther) pairs on one limb whose drawn outlines overlap."""
    pairs = []
    for far, low in enumerate(drawing.pieces):
        for near in range(far + 1, len(drawing.pieces)):
            if BONE_TREE[bones[far]][2] != BONE_TREE[bones[near]][2]:
                continue
            both = shared(low.outline, drawing.pieces[near].outline).area
            if both > 0.05 * min(low.outline.area, drawing.pieces[near].outline.area):
                pairs.append((near, far))
    return pairs
