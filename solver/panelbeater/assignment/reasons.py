"""Why each piece lies where it does: what it gives, and what the next best would cost."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from panelbeater.assignment.candidates import Placement
from panelbeater.assignment.rows import narrowed, solve_rows
from panelbeater.assignment.solve import Choice
from panelbeater.assignment.table import UNIT, Case
from panelbeater.geometry.overlay import joined, shared, without
from panelbeater.terms.arrays import Ints
from panelbeater.terms.assignment import Assignment, Cover

N_PARTNERS = 3
"""Pieces that may move along when one is sent elsewhere; the others lie still."""
CLOSE_ENOUGH = 3e-4
"""Of the layout's worth: a cost is told to a tenth of a percent."""
N_NODES = 4


@dataclass(frozen=True, slots=True)
class Other:
    """The best layout found with a piece off its region."""

    cost: float
    """Share of the figure that it is worth less; negative where it would be better."""
    region: int
    moved: tuple[tuple[int, int], ...]
    """Other pieces that move along, each with its new region."""


def explain(
    case: Case,
    choice: Choice,
    laid: Sequence[Placement],
    which: Collection[int] | None = None,
) -> Assignment:
    """The layout as covers, each with what it gains and why it lies there.

    which : pieces to ask what else they could do; all of them when left out.
    """
    figure, total = case.figure, case.figure.silhouette.area
    covers = []
    for i, (piece, place) in enumerate(zip(case.pieces, laid, strict=True)):
        region = figure.bones[place.region].region
        others = [
            p.outline
            for k, p in enumerate(laid)
            if k != i and p.region == place.region and not p.stowed
        ]
        own = shared(place.outline, region)
        gain = 0.0 if place.stowed else float(without(own, joined(others)).area / total)
        covers.append(
            Cover(
                piece.id, figure.bones[place.region].id, place.stage_from_piece,
                place.scale, place.stretch, gain,
                _reason(case, choice, i, gain, ask=which is None or i in which),
                stowed=place.stowed,
            )
        )  # fmt: skip
    return Assignment(
        tuple(covers), choice.value, choice.bound, choice.proof, len(case.placements)
    )


def _reason(case: Case, choice: Choice, piece: int, gain: float, *, ask: bool) -> str:
    bones = case.figure.bones
    here = bones[case.placements[choice.chosen[piece]].region].id
    gives = f"gives {here} {gain:.1%} of the figure that no other piece there covers"
    if gain < 0.0005:
        gives = f"lies on {here} under or over others"
    if case.placements[choice.chosen[piece]].stowed:
        return f"hidden behind {here}: nowhere in sight is worth its price"
    if case.pieces[piece].wishes.pin:
        return f"pinned; {gives}"
    if choice.rows is None or not ask:
        return gives
    other = next_best(case, choice, piece)
    if other is None:
        return f"{gives}; it fits nowhere else"
    along = ", ".join(
        f"{case.pieces[i].id} to {bones[region].id}" for i, region in other.moved
    )
    where = bones[other.region].id + (f" (then {along})" if along else "")
    if other.cost < 0.0005:
        return f"{gives}; {where} would be as good"
    return f"{gives}; next best is {where}, which costs {other.cost:.1%}"


def next_best(case: Case, choice: Choice, piece: int) -> Other | None:
    """Solve again with the piece banned from its region, under all rules.

    The pieces that could best take its place, or lie where it would go, may move along;
    all others lie still, so the cost is what this change would cost, and with more moved
    along it could be less. None when it fits nowhere else.
    """
    assert choice.rows is not None
    chosen, places = choice.chosen, case.placements
    region = np.array([place.region for place in places])
    owner = np.array([place.piece for place in places])
    here = region[chosen[piece]]
    away = (owner == piece) & (region != here)
    if not away.any():
        return None
    free = np.isin(owner, _partners(case, chosen, piece)) | away
    fixed = np.isin(np.arange(len(places)), chosen) & ~free & (owner != piece)
    answer = solve_rows(
        narrowed(choice.rows, free, fixed), gap=CLOSE_ENOUGH, n_nodes=N_NODES
    )
    if answer.values is None:
        return None
    picked = np.flatnonzero(answer.values[: len(places)] > 0.5)
    now = dict(zip(owner[picked].tolist(), region[picked].tolist(), strict=True))
    moved = tuple(
        (i, now[i])
        for i in range(len(chosen))
        if i != piece and now[i] != region[chosen[i]]
    )
    return Other(choice.value - answer.value / UNIT, now[piece], moved)


def _partners(case: Case, chosen: Ints, piece: int) -> list[int]:
    """The pieces that would gain most by taking the place of this one."""
    rest = np.delete(chosen, piece)
    worn = case.covers[rest].sum(axis=0)  # (n_cells,) layers without the piece
    here = case.placements[chosen[piece]].region
    best: dict[int, float] = {}
    for j, place in enumerate(case.placements):
        i = place.piece
        if i == piece or place.region != here:
            continue
        under = worn - case.covers[chosen[i]]
        weight = case.cells.weight
        stays = weight[(under == 0) & case.covers[chosen[i]]].sum()
        goes = weight[(under == 0) & case.covers[j]].sum()
        gain = goes - case.price[j] - stays + case.price[chosen[i]]
        best[i] = max(best.get(i, -np.inf), float(gain))
    return sorted(best, key=lambda i: (-best[i], i))[:N_PARTNERS]
