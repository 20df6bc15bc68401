"""Plainer ways to do one stage, to see on the same work what ours is worth.

Each rival plans the whole shot from the same folds and placements and differs in one
stage only. Four are common practice with no source; the rows are those of our own model.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any
from unittest import mock

import numpy as np
from scipy.optimize import linear_sum_assignment

from panelbeater.animation import ShotPlan
from panelbeater.assignment import assign_pieces, nearest_fold
from panelbeater.assignment.greedy import greedy, worth
from panelbeater.assignment.rows import rows_of, solve_rows
from panelbeater.assignment.solve import Choice, build
from panelbeater.assignment.table import UNIT, Case
from panelbeater.shot import Prepared
from panelbeater.stress.retime import resampled
from panelbeater.terms.arrays import Floats, Ints
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.pose import Fold
from panelbeater.terms.timing import Move, Schedule, ShotOptions

CHOOSING = "panelbeater.assignment.assign.choose"
TIMING = "panelbeater.animation.schedule_moves"


def _as_planned(plan: ShotPlan) -> ShotPlan:
    return plan


@dataclass(frozen=True, slots=True)
class Rival:
    """One stage done otherwise."""

    says: str
    target: str = ""
    """Our function that it stands in for while it plans."""
    substitute: Callable[..., Any] | None = None
    after: Callable[[ShotPlan], ShotPlan] = _as_planned
    """What it does to the finished plan."""

    @contextmanager
    def instead(self) -> Iterator[None]:
        """While this is open, the rival's function is called instead of ours."""
        if not self.substitute:
            yield
            return
        with mock.patch(self.target, self.substitute):
            yield

    def layout(
        self, ready: Prepared, shot: ShotOptions, ours: ShotPlan
    ) -> tuple[Fold, Assignment]:
        """Fold and layout: a rival of the motion stages takes ours over."""
        if self.says != "layout":
            return ours.rig.fold, ours.assignment
        laid = assign_pieces(
            ready.drawing, ready.figure, ready.folds[0], ready.pool,
            seed=shot.seed, budget=shot.budget,
        )  # fmt: skip
        return nearest_fold(
            ready.drawing, ready.figure, ready.folds, laid, ready.pool
        ), laid


# --- layout ---


def by_exchange(case: Case, **_: Any) -> Choice:
    """Greedy, then any single piece or pair of pieces that gains by lying elsewhere."""
    chosen = greedy(case)
    best = _best_on(case)
    for _round in range(8):
        before = worth(case, chosen)
        for piece in range(len(chosen)):
            chosen = _moved(case, chosen, piece)
        for first in range(len(chosen)):
            for second in range(first):
                chosen = _exchanged(case, chosen, best, first, second)
        if worth(case, chosen) <= before + 1e-9:
            break
    return Choice(chosen, worth(case, chosen), np.inf, "greedy with exchange")


def by_linear_sum(case: Case, **_: Any) -> Choice:
    """Each piece to one slot of a region, gains added up as if nothing overlapped.

    A region has as many slots as are needed for all pieces; each further one counts half.
    """
    best = _best_on(case)
    gain = case.covers @ case.cells.weight - case.price
    n_pieces, n_regions = best.shape
    n_slots = -(-n_pieces // n_regions) + 1
    halved = 0.5 ** np.arange(n_slots)
    table = gain[best][:, :, None] * halved  # (n_pieces, n_regions, n_slots)
    table[best < 0] = -1e3  # it does not fit there at all
    pieces, slots = linear_sum_assignment(-table.reshape(n_pieces, -1))
    chosen = np.zeros(n_pieces, dtype=np.int64)
    chosen[pieces] = best[pieces, slots // n_slots]
    return Choice(chosen, worth(case, chosen), np.inf, "linear sum assignment")


def by_rows_alone(case: Case, **_: Any) -> Choice:
    """HiGHS on the rows of our own model, as many nodes as it likes up to a limit."""
    model, table = build(case)
    answer = solve_rows(
        rows_of(model, len(table.chosen)),
        gap=case.options.gap_limit,
        n_nodes=case.options.n_nodes,
    )
    if answer.values is None:
        first = greedy(case)
        return Choice(first, worth(case, first), np.inf, "greedy: HiGHS found nothing")
    chosen = np.flatnonzero(answer.values[: len(table.chosen)] > 0.5)
    order = np.argsort([case.placements[j].piece for j in chosen], kind="stable")
    return Choice(chosen[order], answer.value / UNIT, answer.bound / UNIT, "HiGHS alone")


def _best_on(case: Case) -> Ints:
    """(n_pieces, n_regions), the best placement of each piece on each region, or -1."""
    gain: Floats = case.covers @ case.cells.weight - case.price
    best = np.full((len(case.pieces), len(case.figure.bones)), -1, dtype=np.int64)
    for j, place in enumerate(case.placements):
        now = best[place.piece, place.region]
        if now < 0 or gain[j] > gain[now]:
            best[place.piece, place.region] = j
    return best


def _moved(case: Case, chosen: Ints, piece: int) -> Ints:
    others = np.delete(chosen, piece)
    bare = np.where(case.covers[others].any(axis=0), 0.0, case.cells.weight)
    mine = np.array([j for j, p in enumerate(case.placements) if p.piece == piece])
    net = case.covers[mine] @ bare - case.price[mine]
    now = np.array(chosen)
    now[piece] = mine[int(net.argmax())]
    return now


def _exchanged(case: Case, chosen: Ints, best: Ints, first: int, second: int) -> Ints:
    regions = [case.placements[chosen[k]].region for k in (first, second)]
    swapped = best[[first, second], regions[::-1]]
    if regions[0] == regions[1] or (swapped < 0).any():
        return chosen
    now = np.array(chosen)
    now[[first, second]] = swapped
    return now if worth(case, now) > worth(case, chosen) + 1e-9 else chosen


# --- motion ---


def all_at_once(
    drawing: Any,
    _assignment: Any,
    _action: Any,
    _travel: Any,
    *,
    shot: ShotOptions,
    **_: Any,
) -> Schedule:
    """Every piece leaves with the first and lands with the last."""
    span = shot.moving
    moves = tuple(Move(piece.id, span.start, span.stop) for piece in drawing.pieces)
    return Schedule(moves, "all at once")


def straightened(plan: ShotPlan) -> ShotPlan:
    """Each piece goes straight from its waiting to its landing place on its bone."""
    tracks = tuple(
        replace(track, key_u=np.array([0.0, 1.0]), key_channels=track.key_channels[[0, -1]])
        for track in plan.rig.tracks
    )
    return resampled(plan, replace(plan.rig, tracks=tracks))


RIVALS = {
    "greedy with exchange": Rival("layout", CHOOSING, by_exchange),
    "linear sum": Rival("layout", CHOOSING, by_linear_sum),
    "HiGHS alone": Rival("layout", CHOOSING, by_rows_alone),
    "all at once": Rival("schedule", TIMING, all_at_once),
    "straight paths": Rival("paths", after=straightened),
}
