"""A first layout in a moment, and what a layout is worth without the rules' extras."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from panelbeater.assignment.table import Case
from panelbeater.terms.arrays import Ints


def greedy(case: Case, start: Sequence[int] = ()) -> Ints:
    """(n_pieces,): what there is to start from, then largest pieces first, each where it
    adds most at its price.
    """
    bare = case.cells.weight.copy()
    sight = case.sight
    room = sight.room.copy()
    chosen = np.zeros(len(case.pieces), dtype=np.int64)
    pool: dict[int, list[int]] = {}
    for j, place in enumerate(case.placements):
        pool.setdefault(place.piece, []).append(j)
    begun = {case.placements[j].piece: [j] for j in start}
    pool |= begun
    order = sorted(pool, key=lambda i: (i not in begun, -case.pieces[i].outline.area, i))
    for piece in order:
        mine = np.array(pool[piece])
        gain = case.covers[mine] @ bare - case.price[mine]
        if len(sight.off):
            seen = np.minimum(sight.shows[mine], room).sum(axis=1) + sight.off[mine]
            gain += sight.worth * seen
        chosen[piece] = mine[int(gain.argmax())]
        bare[case.covers[chosen[piece]]] = 0.0
        if len(sight.off):
            room = np.maximum(0, room - sight.shows[chosen[piece]])
    return chosen


def worth(case: Case, chosen: Sequence[int] | Ints) -> float:
    """Covered share and kept vehicle less prices, without the soft extras of the model."""
    which = np.asarray(chosen)
    covered = case.covers[which].any(axis=0)
    return float(
        case.cells.weight[covered].sum() - case.price[which].sum() + kept(case, which)
    )


def kept(case: Case, which: Ints) -> float:
    """What the chosen placements are paid for showing the vehicle unchanged."""
    sight = case.sight
    if len(sight.off) == 0:
        return 0.0
    seen = np.minimum(sight.shows[which].sum(axis=0), sight.room).sum()
    return float(sight.worth * (seen + sight.off[which].sum()))
