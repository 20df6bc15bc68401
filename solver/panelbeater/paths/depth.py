"""Who lies over whom in each frame: pieces change places only while they do not overlap.

A pair that overlaps in some frames on end keeps its order through all of them, so what is
decided is one order a pair and run of such frames. The first frame is as drawn, the last is
as the robot shows most; in between as few pairs as possible change their order.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

import numpy as np
import shapely
from ortools.sat.python import cp_model

from panelbeater.effort import QUIET, Effort, run_solver
from panelbeater.geometry.overlay import shared_areas
from panelbeater.geometry.stacked import closed, stacked
from panelbeater.geometry.stage import all_piece_outlines
from panelbeater.terms.arrays import Flags, Ints
from panelbeater.terms.drawing import Drawing, Shape
from panelbeater.terms.rig import Refused, Rig, Sample, Stacking

SEEN = 5e-5
"""Share of the smaller piece from which an overlap counts: half of what the judge lets pass
when two pieces change their order over it."""
DETERMINISTIC_TIME = 0.5
"""For each round of the solver; most take a hundredth of it."""
ROUNDS = 12
"""How often rings are forbidden, and how often a wish is asked for anew: one to three times
for most drawings. One order throughout is always left."""


@dataclass(frozen=True, slots=True, eq=False)
class Stack:
    """The order of the pieces in every frame."""

    depth: Ints
    """(n_frames, n_pieces), unique within a frame, larger is nearer the viewer."""
    n_flips: int
    """How often a pair meets again the other way round."""
    proof: str
    """What was proven of that number."""
    refused: tuple[tuple[int, int, int], ...]
    """What should lie over what at the end and cannot, and from which frame on, counted
    from the vehicle, the two overlap."""

    def told(self, drawing: Drawing) -> Stacking:
        """The same for people, without the orders."""
        names = [piece.id for piece in drawing.pieces]
        refused = (Refused(names[i], names[j], k) for i, j, k in self.refused)
        return Stacking(self.proof, tuple(refused))


@dataclass(frozen=True, slots=True)
class Run:
    """Frames on end in which two pieces overlap; unless anything changes `upper` lies over
    `lower`.
    """

    lower: int
    upper: int
    start: int
    stop: int
    is_drawn: bool
    """They overlap in the first frame, so their order is that of the drawing."""


Edge = tuple[int, int]
"""A piece, and one that lies over it."""


def stack_frames(
    rig: Rig,
    sample: Sample,
    wish: Callable[[Flags], Sequence[int]],
    *,
    effort: Effort = QUIET,
) -> Stack:
    """The order in every frame that ends as wished for, wherever that can go unseen.

    sample : one moment a frame; where nothing is won the last order of `rig.depth` holds
        throughout, as far as the drawing allows. wish : as `stack_meetings` says.
    """
    meets = meetings(all_piece_outlines(rig, sample).tolist())
    drawn = [(lower, upper) for lower, upper in np.argwhere(meets[0]).tolist()]
    base = stacked(drawn, rig.depth[-1].tolist())
    return stack_meetings(meets, base, wish, seed=rig.shot.seed, effort=effort)


def meetings(outlines: Sequence[Sequence[Shape]]) -> Flags:
    """(n_frames, n_pieces, n_pieces), True where two pieces overlap, the further one of the
    drawing first; `outlines` are (n_frames, n_pieces), stage frame.
    """
    n_frames, n = len(outlines), len(outlines[0])
    out = np.zeros((n_frames, n, n), dtype=np.bool_)
    shapes = np.full(n, None, dtype=object)
    for frame, row in enumerate(outlines):
        # What has not moved meets what it met before, unless that has moved.
        moved = np.array([k for k in range(n) if row[k] is not shapes[k]], dtype=np.int64)
        shapes = np.empty(n, dtype=object)
        shapes[:] = list(row)
        if frame:
            out[frame] = out[frame - 1]
            out[frame, moved], out[frame, :, moved] = False, False
        if not len(moved):
            continue
        hit, other = shapely.STRtree(shapes).query(shapes[moved], predicate="intersects")
        pairs = np.sort(np.stack([moved[hit], other]), axis=0)
        lower, upper = np.unique(pairs[:, pairs[0] < pairs[1]], axis=1)
        area = shapely.area(shapes)
        least = SEEN * np.minimum(area[lower], area[upper])
        met = shared_areas(shapes[lower], shapes[upper]) > least
        out[frame, lower[met], upper[met]] = True
    return out


def stack_meetings(
    meets: Flags,
    base: Sequence[int],
    wish: Callable[[Flags], Sequence[int]],
    *,
    seed: int = 1,
    effort: Effort = QUIET,
) -> Stack:
    """The order in every frame, from who meets whom.

    meets : see `meetings`.
    base : (n_pieces,) depths that show the drawing in the first frame.
    wish : asked for (n_pieces,) depths in the last frame; it is told which pieces (row)
        must lie over which (column) there. What cannot be granted is as in `base`, and it
        is asked again. First of all it is asked what would be best if nothing had to.
    """
    n_frames, n, _ = meets.shape
    runs = _runs(meets, base)
    hoped = wish(np.zeros((n, n), dtype=np.bool_))
    must = np.zeros((n, n), dtype=np.bool_)
    for run in runs:
        must[run.upper, run.lower] |= run.is_drawn and run.stop == n_frames
    for _ in range(ROUNDS):
        wanted = wish(closed(must))
        kept, n_flips, is_least = _settle(runs, n_frames, wanted, seed, effort)
        refused = [
            run
            for run, as_base in zip(runs, kept, strict=True)
            if run.stop == n_frames
            and as_base
            and wanted[run.upper] < wanted[run.lower]
            and not must[run.upper, run.lower]
        ]
        if not refused:
            break
        for run in refused:
            must[run.upper, run.lower] = True
    changes = f"{n_flips} change{'s' * (n_flips != 1)} of order where nothing overlaps"
    least = "no fewer would do" if is_least else "fewer might do"
    depth = _orders(runs, kept, n_frames, base)
    return Stack(depth, n_flips, f"{changes}; {least}", _refused(runs, hoped, depth))


def _refused(
    runs: Sequence[Run], hoped: Sequence[int], depth: Ints
) -> tuple[tuple[int, int, int], ...]:
    """Pairs that overlap at the end the other way round than was hoped for, as `Stack`
    lists them.
    """
    out = []
    for run in runs:
        pair = sorted((run.lower, run.upper), key=lambda piece: hoped[piece])
        if run.stop == len(depth) and depth[-1, pair[0]] > depth[-1, pair[1]]:
            out.append((pair[1], pair[0], run.start))
    return tuple(out)


def _runs(meets: Flags, base: Sequence[int]) -> list[Run]:
    """By pair, then by time; one frame longer at both ends than the pair overlaps: whoever
    meets between two frames has the order to come already.
    """
    near = meets.copy()
    near[:-1] |= meets[1:]
    near[1:] |= meets[:-1]
    out = []
    for one, other in np.argwhere(near.any(axis=0)).tolist():
        lower, upper = sorted((one, other), key=lambda piece: base[piece])
        meet = np.concatenate([[False], near[:, one, other], [False]])
        ends = np.flatnonzero(np.diff(meet.astype(np.int8))).reshape(-1, 2)
        out += [
            Run(lower, upper, start, stop, start == 0 and bool(meets[0, one, other]))
            for start, stop in ends.tolist()
        ]
    return out


def _settle(
    runs: Sequence[Run], n_frames: int, wanted: Sequence[int], seed: int, effort: Effort
) -> tuple[list[bool], int, bool]:
    """Whether each pair keeps its order of `base` in each run; how often that changes on
    the way, and whether that is the least.
    """
    model = cp_model.CpModel()
    kept = [model.new_bool_var(f"{run.lower}_{run.upper}_{run.start}") for run in runs]
    flips, astray, turned = [], [], []
    for at, (run, as_base) in enumerate(zip(runs, kept, strict=True)):
        is_last = run.stop == n_frames
        if run.is_drawn or (is_last and wanted[run.upper] > wanted[run.lower]):
            model.add(as_base == 1)
        elif is_last:
            astray.append(as_base)
        else:
            turned.append(~as_base)
        if at and (runs[at - 1].lower, runs[at - 1].upper) == (run.lower, run.upper):
            flip = model.new_bool_var(f"flip_{at}")
            model.add(flip >= as_base - kept[at - 1])
            model.add(flip >= kept[at - 1] - as_base)
            flips.append(flip)
    # First the wish, then the fewest changes, then as little turned round as possible.
    n = len(runs) + 1
    model.minimize(n * n * sum(astray) + n * sum(flips) + sum(turned))
    active = dict.fromkeys(
        tuple(at for at, run in enumerate(runs) if run.start <= frame < run.stop)
        for frame in range(n_frames)
    )
    for _ in range(ROUNDS):
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = seed
        solver.parameters.max_deterministic_time = DETERMINISTIC_TIME
        status = run_solver(solver, model, effort)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            break
        found = [solver.boolean_value(as_base) for as_base in kept]
        rings = _rings(active, _edges(runs, found))
        if not rings:
            n_flips = sum(solver.boolean_value(flip) for flip in flips)
            return found, n_flips, status == cp_model.OPTIMAL
        for ring in rings:  # no three pieces can each lie over the next
            model.add_bool_or([~kept[at] if found[at] else kept[at] for at in ring])
    return [True] * len(runs), 0, True  # one order throughout will always do


def _edges(runs: Sequence[Run], kept: Sequence[bool]) -> list[Edge]:
    return [
        (run.lower, run.upper) if as_base else (run.upper, run.lower)
        for run, as_base in zip(runs, kept, strict=True)
    ]


def _rings(active: Iterable[Sequence[int]], edges: Sequence[Edge]) -> list[tuple[int, ...]]:
    """Runs whose pieces lie over each other in a ring: in each frame so many, with no run
    in common, that the rest can be stacked. `active` are the runs of each frame.
    """
    out = dict[tuple[int, ...], None]()
    for runs in active:
        now = {edges[at]: at for at in runs}
        while ring := _ring(now):
            out[tuple(sorted(now.pop(edge) for edge in ring))] = None
    return list(out)


def _ring(edges: Iterable[Edge]) -> list[Edge]:
    """Some edges that lead round in a ring; none where the pieces can be stacked."""
    sorter: TopologicalSorter[int] = TopologicalSorter()
    for under, above in edges:
        sorter.add(above, under)
    try:
        sorter.prepare()
    except CycleError as error:
        ring = error.args[1]
        return list(itertools.pairwise(ring))
    return []


def _orders(
    runs: Sequence[Run], kept: Sequence[bool], n_frames: int, base: Sequence[int]
) -> Ints:
    """(n_frames, n_pieces), depths that change only if they must, as late as they can."""
    edges = _edges(runs, kept)
    depth = np.zeros((n_frames, len(base)), dtype=np.int64)
    rank, start = list(base), 0
    while start < n_frames:
        held: set[Edge] = set()
        stop = start
        while stop < n_frames:
            now = {
                edge
                for run, edge in zip(runs, edges, strict=True)
                if run.start <= stop < run.stop
            }
            if not now <= held and _ring(held | now):
                break
            held |= now
            stop += 1
        rank = stacked(held, rank)
        depth[start:stop] = rank
        start = stop
    return depth
