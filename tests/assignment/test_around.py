"""What one layout lacks is found on the raster, piece by piece."""

from __future__ import annotations

import numpy as np
import pytest

from panelbeater.assignment.around import placements_around
from panelbeater.assignment.assign import case_of, offer_placements
from panelbeater.assignment.greedy import greedy, worth
from panelbeater.assignment.prices import folded_under
from panelbeater.assignment.search import Search
from panelbeater.kinematics.chain import skeleton_of
from panelbeater.terms.drawing import Wishes
from tests.assignment.cutouts import standing_fold
from tests.assignment.small import COARSE, GROUND, small_figure, small_vehicle


@pytest.mark.solve
def test_it_finds_new_placements_that_make_the_layout_better() -> None:
    vehicle, figure = small_vehicle(bed=Wishes(pin="torso")), small_figure()
    fold = standing_fold(figure)
    pool = offer_placements(vehicle, figure, ground=GROUND, options=COARSE)
    case = case_of(vehicle, figure, fold, pool)
    search = Search.over(vehicle.pieces, figure, GROUND, COARSE)
    folded = folded_under(vehicle.pieces, skeleton_of(figure), fold.pose)
    chosen = greedy(case)
    found = list(placements_around(search, case, chosen, folded))
    known = {(p.piece, p.region) for p in case.placements}
    assert {(p.piece, p.region) for p in found} <= known, "pins and bans hold"
    for place in found:
        mine = [p.stage_from_piece for p in case.placements if p.piece == place.piece]
        assert np.abs(np.array(mine) - place.stage_from_piece).max(axis=(1, 2)).min() > 0
    more = case.with_more(
        case_of(vehicle, figure, fold, type(pool)(tuple(found), GROUND, COARSE))
    )
    assert len(more.placements) == len(case.placements) + len(found) == len(more.price)
    before = worth(more, chosen)
    assert before == pytest.approx(worth(case, chosen))
    gains = []
    for j in range(len(case.placements), len(more.placements)):
        changed = chosen.copy()
        changed[more.placements[j].piece] = j
        gains.append(worth(more, changed) - before)
    assert max(gains) > 0.001
