"""Who lies over whom: from the drawn stack to the robot's, without a jump in sight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from ortools.sat.python import cp_model
from shapely.geometry.base import BaseGeometry

from panelbeater.effort import QUIET, Effort, run_solver
from panelbeater.geometry.overlay import shared_areas
from panelbeater.paths.flips import Flips
from panelbeater.terms.arrays import Flags, Floats, Ints
from panelbeater.terms.timing import ShotOptions

SEEN = 5e-5
"""Share of the smaller piece that may be seen to change order: half of what counts as a pop
(metrics.md)."""
DETERMINISTIC_TIME = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Stacking:
    """The stack frame by frame, and how sure we are that no more of the wish can be met."""

    depth: Ints
    """(n_frames, n_pieces), unique within a frame, larger is nearer the viewer."""
    proof: str
    left: tuple[tuple[int, int], ...] = ()
    """(nearer, farther) as wished, pairs that stay as drawn."""


def stack_depths(
    outlines: Sequence[Sequence[BaseGeometry]],
    visible: Flags,
    wanted: Sequence[int],
    *,
    shot: ShotOptions,
    effort: Effort = QUIET,
) -> Stacking:
    """From the drawn order to the wanted one, each piece changing its place at most once.

    outlines : (n_frames)(n_pieces), on the stage; visible : (n_frames, n_pieces).
    wanted : (n_pieces,), stacking in the last frame.
    A pair changes its order only between two frames in one of which they do not overlap or
    one of them is not shown. Where no such frame exists they stay as drawn, and are listed.
    """
    n_frames, n_pieces = visible.shape
    drawn = np.tile(np.arange(n_pieces), (n_frames, 1))
    last = _overlaps(outlines[-1])
    wishes = {
        (i, j): share
        for (i, j), share in last.items()
        if share > SEEN and visible[-1, [i, j]].all() and wanted[i] < wanted[j]
    }
    if not wishes:
        return Stacking(drawn, "the drawn stack serves the robot")
    free = _free_frames(outlines, visible, shot)
    flips = Flips(n_pieces, sorted({p for pair in wishes for p in pair}), free)
    weights = _weighted(last, wanted)
    flips.wish(weights)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = shot.seed
    solver.parameters.max_deterministic_time = DETERMINISTIC_TIME * shot.budget
    status = run_solver(solver, flips.model, effort)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Stacking(drawn, "as drawn: no change of order found in the time allowed",
                        tuple(sorted((j, i) for i, j in wishes)))  # fmt: skip
    depth = flips.depth(solver, n_frames)
    left = tuple(sorted((j, i) for i, j in wishes if depth[-1, i] > depth[-1, j]))
    best = (
        "no order of changes unseen does better"
        if status == cp_model.OPTIMAL
        else ("perhaps more can be done unseen")
    )
    proof = f"{len(wishes) - len(left)} of {len(wishes)} wished changes of order; {best}"
    return Stacking(depth, proof, left)


def _overlaps(shapes: Sequence[BaseGeometry]) -> dict[tuple[int, int], float]:
    """Share of the smaller piece in both, for (nearer, farther) as drawn that overlap."""
    array = np.array(shapes, dtype=object)
    one, other = shapely.STRtree(array).query(array, predicate="intersects")
    one, other = one[one > other], other[one > other]
    areas = shapely.area(array)
    shares = shared_areas(array[one], array[other]) / np.maximum(
        np.minimum(areas[one], areas[other]), 1e-12
    )
    return {
        (int(i), int(j)): float(share)
        for i, j, share in zip(one, other, shares, strict=True)
    }


def _free_frames(
    outlines: Sequence[Sequence[BaseGeometry]], visible: Flags, shot: ShotOptions
) -> Flags:
    """(n_frames, n_pieces, n_pieces): may the order flip between the frame before and this?

    Never into the holds at both ends: there the eye has time to compare.
    """
    n_frames, n_pieces = visible.shape
    clear = np.ones((n_frames, n_pieces, n_pieces), dtype=np.bool_)
    for frame, shapes in enumerate(outlines):
        for (i, j), share in _overlaps(shapes).items():
            if share > SEEN and visible[frame, i] and visible[frame, j]:
                clear[frame, i, j] = clear[frame, j, i] = False
    free = np.zeros_like(clear)
    free[1:] = clear[1:] | clear[:-1]
    free[: shot.moving.start + 1] = False
    free[shot.moving.stop :] = False
    return free


def _weighted(
    last: dict[tuple[int, int], float], wanted: Sequence[int]
) -> dict[tuple[int, int], int]:
    """(nearer, farther) as wished in the last frame, in whole units of weight."""
    out = {}
    for (i, j), share in last.items():
        pair = (i, j) if wanted[i] > wanted[j] else (j, i)
        if share > SEEN:
            out[pair] = 10 + round(1000 * share)
    return out


def flips_in_sight(
    depth: Ints, outlines: Sequence[Sequence[BaseGeometry]], visible: Flags
) -> list[tuple[int, int, int]]:
    """(frame, piece, piece) of every pair seen to change its order into that frame."""
    out = []
    shares: list[dict[tuple[int, int], float]] = [_overlaps(s) for s in outlines]
    for frame in range(1, len(depth)):
        for i, j in combinations(range(depth.shape[1]), 2):
            before, after = depth[frame - 1], depth[frame]
            if (before[i] > before[j]) == (after[i] > after[j]):
                continue
            seen: Floats = np.array(
                [shares[f].get((j, i), 0.0) for f in (frame - 1, frame)]
            )
            shown = visible[frame - 1 : frame + 1, [i, j]].all()
            if shown and seen.min() > 2 * SEEN:
                out.append((frame, i, j))
    return out
