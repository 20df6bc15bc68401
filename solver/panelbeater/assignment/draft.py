"""A first layout within seconds: something whole to fall back on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from panelbeater.assignment.assign import case_of, offer_placements
from panelbeater.assignment.greedy import greedy, worth
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.reasons import explain
from panelbeater.assignment.solve import Choice
from panelbeater.effort import QUIET, Effort
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Fold


def draft_pieces(
    drawing: Drawing, figure: Figure, fold: Fold, *, ground: float, effort: Effort = QUIET
) -> Assignment:
    """Every piece where it adds most, largest first, over a coarse pool of placements.

    Pins and bans hold. About a tenth of the work of the full pool, and no solver. Raises
    NoAssignmentError naming the pieces that fit nowhere.
    """
    options = replace(
        AssignmentOptions(), n_cells=300, kept_shapes=((1.0, 1.0),),
        free_shapes=((0.85, 1.0), (1.2, 1.0)), per_region=2,
    )  # fmt: skip
    pool = offer_placements(drawing, figure, ground=ground, options=options, effort=effort)
    case = case_of(drawing, figure, fold, pool)
    chosen = greedy(case)
    cheapest = np.full(len(case.pieces), np.inf)
    np.minimum.at(cheapest, [place.piece for place in case.placements], case.price)
    most = float(case.cells.weight.sum()) + options.keep_bonus
    bound = most - float(cheapest.sum())
    choice = Choice(chosen, worth(case, chosen), bound, "a first draft over a coarse pool")
    return explain(case, choice, [case.placements[j] for j in chosen])
