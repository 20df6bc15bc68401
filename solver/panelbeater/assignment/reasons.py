"""Why each piece lies where it does: what it gives, and what the next best would cost."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from panelbeater.assignment.candidates import Placement
from panelbeater.assignment.improve import settle
from panelbeater.assignment.ledger import Ledger
from panelbeater.assignment.nearby import Nearby
from panelbeater.assignment.solve import Choice
from panelbeater.assignment.table import UNIT, Case
from panelbeater.geometry.overlay import joined, shared, without
from panelbeater.terms.arrays import Ints
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.figure import Figure, without_side

N_PARTNERS = 3
"""Pieces that may move along when one is sent elsewhere; the others lie still."""
N_REGIONS = 2
"""Other regions where a piece is tried with partners: those where it costs least alone."""


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
    figure, covers = case.figure, []
    gains, nearby = gains_of(laid, figure), dict[int, Nearby]()
    for i, (piece, place) in enumerate(zip(case.pieces, laid, strict=True)):
        covers.append(
            Cover(
                piece.id, figure.bones[place.region].id, place.stage_from_piece,
                place.scale, place.stretch, gains[i],
                _reason(case, choice, i, gains[i], nearby, ask=which is None or i in which),
                stowed=place.stowed,
            )
        )  # fmt: skip
    return Assignment(
        tuple(covers), choice.value, choice.bound, choice.proof, len(case.placements)
    )


def gains_of(laid: Sequence[Placement], figure: Figure) -> list[float]:
    """What each placement covers of its region and no other does, share of the figure."""
    gains = []
    for i, place in enumerate(laid):
        region = figure.bones[place.region].region
        others = [
            p.outline
            for k, p in enumerate(laid)
            if k != i and p.region == place.region and not p.stowed
        ]
        own = shared(place.outline, region)
        bare = 0.0 if place.stowed else float(without(own, joined(others)).area)
        gains.append(bare / figure.silhouette.area)
    return gains


def with_gain(cover: Cover, gain: float) -> Cover:
    """The cover with another gain, also in its reason."""
    said = re.sub(
        r"(gives|lies on) [^;]*", _gives(cover.region, gain), cover.reason, count=1
    )
    return replace(cover, gain=gain, reason=said)


def _gives(region: str, gain: float) -> str:
    if gain < 0.0005:
        return f"lies on {region} under or over others"
    return f"gives {region} {gain:.1%} of the figure that no other piece there covers"


def _reason(
    case: Case,
    choice: Choice,
    piece: int,
    gain: float,
    nearby: dict[int, Nearby],
    *,
    ask: bool,
) -> str:
    bones = case.figure.bones
    here = bones[case.placements[choice.chosen[piece]].region].id
    gives = _gives(here, gain)
    if case.placements[choice.chosen[piece]].stowed:
        return f"hidden behind {here}: nowhere in sight is worth its price"
    if case.pieces[piece].wishes.pin:
        return f"pinned; {gives}"
    if choice.ledger is None or not ask:
        return gives
    other = next_best(case, choice, piece, nearby)
    if other is None:
        return f"{gives}; it fits nowhere else"
    along = ", ".join(
        f"{case.pieces[i].id} to {bones[region].id}" for i, region in other.moved
    )
    where = bones[other.region].id + (f" (then {along})" if along else "")
    if other.cost < 0.0005:
        return f"{gives}; {where} would be as good"
    return f"{gives}; next best is {where}, which costs {other.cost:.1%}"


def next_best(
    case: Case, choice: Choice, piece: int, nearby: dict[int, Nearby] | None = None
) -> Other | None:
    """The best layout found with the piece banned from its region, under all rules.

    It is tried on the regions where it alone would cost least; pieces that could best take
    its place, or lie where it would go, may then move along, all others lie still. So the
    cost is what this change would cost, and with more moved along it could be less. None
    when it fits nowhere else.

    nearby : what is known of pieces already; filled as they are asked about.
    """
    assert choice.ledger is not None
    ledger, chosen = choice.ledger, choice.chosen
    region = np.array([place.region for place in case.placements])
    names = [without_side(bone.id) for bone in case.figure.bones]
    sort = np.array([names.index(name) for name in names])[region]
    here = region[chosen[piece]]
    away = ledger.of_piece[piece][region[ledger.of_piece[piece]] != here]
    if not len(away):
        return None
    rest = np.delete(chosen, piece)
    values = ledger.with_piece(ledger.load(rest), float(ledger.worth[rest].sum()), away)
    order = away[np.argsort(-values, kind="stable")]
    firsts = list({int(region[j]): j for j in order[::-1]}.values())[::-1][:N_REGIONS]
    best, best_value = chosen, -np.inf
    nearby = {} if nearby is None else nearby
    banned = replace(
        ledger, of_piece=(*ledger.of_piece[:piece], away, *ledger.of_piece[piece + 1 :])
    )
    for first in firsts:
        laid = chosen.copy()
        laid[piece] = first
        partners = _partners(ledger, laid, piece, sort, int(sort[chosen[piece]]), nearby)
        laid, value = settle(banned, laid, [*partners, piece])
        if value > best_value:
            best, best_value = laid, value
    moved = tuple(
        (i, int(region[best[i]]))
        for i in range(len(chosen))
        if i != piece and region[best[i]] != region[chosen[i]]
    )
    cost = (ledger.value(chosen) - best_value) / UNIT
    return Other(cost, int(region[best[piece]]), moved)


def _partners(
    ledger: Ledger,
    laid: Ints,
    piece: int,
    sort: Ints,
    left: int,
    nearby: dict[int, Nearby],
) -> list[int]:
    """The pieces that win most by moving now that one has left its sort of region for
    another: to either, left or right, or, where they are in its way, anywhere.

    sort : (n_placements,), the same for a left and a right limb.
    """
    load = ledger.load(laid)
    reached = ledger.first.reached(load[None, : len(ledger.first.low)])[0]
    carried = reached @ ledger.carried
    taken = sort[laid[piece]]
    wins: list[tuple[float, int]] = []
    for i, here in enumerate(laid.tolist()):
        ways = ledger.of_piece[i]
        if i == piece or len(ways) == 1:
            continue
        open_to = (sort[here] == taken) | np.isin(sort[ways], (left, taken))
        if not open_to.any():
            continue
        if i not in nearby:
            nearby[i] = Nearby.of(ledger, i)
        at = int(np.searchsorted(ways, here))
        gains = nearby[i].gains(load, reached, carried, at)
        wins.append((-float(gains[open_to].max()), i))
    return [i for _, i in sorted(wins)[:N_PARTNERS]]
