"""When each piece leaves and lands: limb by limb, outer first, on time for its bone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from ortools.sat.python import cp_model

from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.overlay import shared
from panelbeater.kinematics.chain import PARENTS
from panelbeater.schedule.groups import Group, find_groups
from panelbeater.schedule.options import ScheduleOptions
from panelbeater.schedule.timetable import Timetable
from panelbeater.terms.arrays import Points
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import BONE_IDS, CONTROLLERS, without_side
from panelbeater.terms.pose import Action
from panelbeater.terms.timing import FrameSpan, Move, Parting, Schedule, ShotOptions


def schedule_moves(
    drawing: Drawing,
    assignment: Assignment,
    action: Action,
    travel: Points,
    *,
    shot: ShotOptions,
    partings: Sequence[Parting] = (),
    options: ScheduleOptions | None = None,
    effort: Effort = QUIET,
) -> Schedule:
    """One move per piece by CP-SAT.

    travel : (n_pieces, 2), where each piece goes inside the fold, in figure heights.
    Pieces leave with the bone that will wear them, so that a limb hardly comes out bare,
    and land when it is out; those of one limb that go the same way leave
    together. More such groups at once than an eye can follow are charged, and so is a
    farther piece that leaves before the nearer one that overlaps it in the drawing. Pairs
    that would part if they left at the right frames are worth waiting for a little:
    whether they may change places is decided here, with who leaves when.
    """
    options = options or ScheduleOptions()
    window = FrameSpan(shot.moving.start, max(shot.moving.stop, shot.moving.start + 1))
    bones = [BONE_IDS.index(cover.region) for cover in assignment.covers]
    groups = find_groups(bones, travel, shot, options)
    n_frames = shot.n_frames
    table = Timetable()
    model, cost = table.model, table.cost
    tasks = []
    lengths = []
    wishes = []
    for at, group in enumerate(groups):
        out = min(max(_out(action, bones[i]) for i in group.pieces), window.stop)
        turns = min(action.spans[bones[i]].start for i in group.pieces)
        wished = max(window.start, turns - options.lead_frames)
        length = min(max(group.n_frames, out - wished), window.stop - window.start)
        # The slow ends of two moves may overlap: there they hardly move.
        task = table.task(
            length, window.start, window.stop - length, quiet=options.overlap_frames
        )
        off = model.new_int_var(0, n_frames, f"off_{at}")
        model.add_abs_equality(off, task.start - wished)
        early = model.new_int_var(0, n_frames, f"early_{at}")
        model.add(early >= out - task.end)
        cost += [len(group.pieces) * (2 * off + options.early_cost * early)]
        tasks.append(task)
        lengths.append(length)
        wishes.append(wished)
    starts = [task.start for task in tasks]
    limit = model.new_int_var(1, len(groups), "groups_at_once")
    table.at_most(tasks, limit)
    over = model.new_int_var(0, len(groups), "too_many")
    model.add(over >= limit - options.n_groups)
    cost.append(options.crowd_cost * over)
    cost += _limb_by_limb(model, groups, starts, options)
    group_of = {i: at for at, group in enumerate(groups) for i in group.pieces}
    for near, far in _outer_first(drawing, groups):
        behind = model.new_bool_var(f"inner_first_{near}_{far}")
        model.add(starts[group_of[near]] <= starts[group_of[far]]).only_enforce_if(~behind)
        cost.append(4 * behind)
    for (one, other), n_pairs in _mirrored(drawing, bones, group_of).items():
        astray = model.new_int_var(0, n_frames, f"out_of_step_{one}_{other}")
        apart = starts[one] - starts[other]
        model.add_abs_equality(astray, apart - (wishes[one] - wishes[other]))
        cost.append(options.step_cost * n_pairs * astray)
    for parting in partings:
        apart = model.new_bool_var(f"apart_{parting.pieces}")
        pair = [starts[group_of[i]] for i in parting.pieces]
        model.add_allowed_assignments(pair, parting.starts).only_enforce_if(apart)
        cost.append(options.parting_worth * ~apart)
    status = table.solve(
        seed=shot.seed, deterministic_time=options.deterministic_time * shot.budget,
        patience=options.patience, effort=effort,
    )  # fmt: skip
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        moves = tuple(Move(p.id, window.start, window.stop) for p in drawing.pieces)
        return Schedule(
            moves, "all at once: no staggered schedule found in the time allowed"
        )
    proof = "optimal"
    if status != cp_model.OPTIMAL:
        cost_found = table.solver.objective_value
        bound = table.solver.best_objective_bound
        proof = f"feasible, not proven best: cost {cost_found:.0f}, at least {bound:.0f}"
    moves = tuple(
        Move(
            piece.id,
            table.solver.value(starts[group_of[i]]),
            table.solver.value(starts[group_of[i]]) + lengths[group_of[i]],
        )
        for i, piece in enumerate(drawing.pieces)
    )
    return Schedule(moves, proof)


def _out(action: Action, bone: int) -> int:
    """The frame in which a bone and all it hangs from have come to rest."""
    stop = 0
    while bone >= 0:
        stop = max(stop, action.spans[bone].stop)
        bone = PARENTS[bone]
    return stop


def _limb_by_limb(
    model: cp_model.CpModel,
    groups: Sequence[Group],
    starts: Sequence[cp_model.IntVar],
    options: ScheduleOptions,
) -> list[cp_model.LinearExprT]:
    """Groups of one limb leave together, or pay for every frame they straggle."""
    cost: list[cp_model.LinearExprT] = []
    for controller in CONTROLLERS:
        mine = [s for s, g in zip(starts, groups, strict=True) if g.limb == controller]
        if len(mine) < 2:
            continue
        first = model.new_int_var(0, 10_000, f"first_{controller}")
        last = model.new_int_var(0, 10_000, f"last_{controller}")
        straggle = model.new_int_var(0, 10_000, f"straggle_{controller}")
        model.add_min_equality(first, mine)
        model.add_max_equality(last, mine)
        model.add(straggle >= last - first - options.within_limb_frames)
        cost.append(2 * straggle)
    return cost


def _mirrored(
    drawing: Drawing, bones: Sequence[int], group_of: dict[int, int]
) -> Counter[tuple[int, int]]:
    """Groups of a left and a right limb that hold mirror pieces on mirror bones, and how
    many such pairs: one leaves as much after the other as its limb does.
    """
    at = {piece.id: i for i, piece in enumerate(drawing.pieces)}
    pairs = Counter[tuple[int, int]]()
    for i, piece in enumerate(drawing.pieces):
        other = at.get(piece.mirror or "", i)
        if i < other and bones[i] != bones[other]:
            sort = {without_side(BONE_IDS[bones[k]]) for k in (i, other)}
            pairs[group_of[i], group_of[other]] += len(sort) == 1
    return +pairs


def _outer_first(drawing: Drawing, groups: Sequence[Group]) -> list[tuple[int, int]]:
    """(nearer, farther) pairs of two groups of one limb whose drawn outlines overlap."""
    pairs = []
    for one in groups:
        for other in groups:
            if one is other or one.limb != other.limb:
                continue
            for far in one.pieces:
                low = drawing.pieces[far].outline
                for near in other.pieces:
                    if near <= far:
                        continue
                    high = drawing.pieces[near].outline
                    if shared(low, high).area > 0.05 * min(low.area, high.area):
                        pairs.append((near, far))
    return pairs
