"""Edge to edge: a piece slides home, and a puzzle comes together again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, box

from benchmarks.recovery import COVER_ONLY, recovered, shuffled
from panelbeater.assignment.candidates import piece_form
from panelbeater.assignment.flush import Border, Edges, flush_placements
from panelbeater.assignment.jigsaw import jigsaw_placements
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.search import Search
from tests.assignment.cutouts import RIGID
from tests.assignment.small import GROUND, small_figure, small_vehicle
from tests.assignment.tiny import tile_figure
from tests.vehicles import piece

KITE = Polygon([(0, 0), (30, 0), (36, 14), (8, 20)])


@pytest.mark.parametrize("angle", [0.0, 0.7, 2.9, -1.4])
def test_a_turned_piece_slides_back_into_its_outline(angle: float) -> None:
    figure = tile_figure([KITE])
    kite = replace(piece("kite", KITE, 0), allowance=RIGID)
    form = piece_form(0, kite, AssignmentOptions())
    turned = replace(form, outline=_turned(form.outline, angle))
    border = Border.of(0, figure.bones[0], KITE, step=2.0)
    best = flush_placements(Edges.of(turned), border, 500.0, 2)[0]
    assert best.outline.intersection(KITE).area > 0.99 * KITE.area


def _turned(outline: object, angle: float) -> Polygon:
    assert isinstance(outline, Polygon)
    cos, sin = np.cos(angle), np.sin(angle)
    return Polygon(np.array(outline.exterior.coords) @ [[cos, sin], [-sin, cos]])


def test_nothing_is_laid_along_an_edge_it_does_not_fit() -> None:
    figure = tile_figure([KITE])
    disc = replace(piece("bar", box(0, 0, 90, 3), 0), allowance=RIGID)
    edges = Edges.of(piece_form(0, disc, AssignmentOptions()))
    border = Border.of(0, figure.bones[0], KITE, step=2.0)
    assert flush_placements(edges, border, 500.0, 2) == []


def test_pieces_that_give_way_are_left_to_the_raster() -> None:
    search = Search.over(
        small_vehicle().pieces, small_figure(), GROUND, AssignmentOptions()
    )
    assert jigsaw_placements(search) == ([], [])


def test_most_of_thirty_pieces_are_laid_where_they_were_cut() -> None:
    case = shuffled(30, seed=0)
    search = Search.over(case.vehicle.pieces, case.figure, 0.0, COVER_ONLY)
    found, laid = jigsaw_placements(search)
    at_home = [found[k].outline.intersection(case.home[found[k].piece][1]).area
               / case.home[found[k].piece][1].area > 0.95 for k in laid]  # fmt: skip
    assert sum(at_home) >= 26


@pytest.mark.solve
@pytest.mark.slow
@pytest.mark.parametrize("seed", range(2))
def test_a_robot_cut_into_ten_is_put_together_again(seed: int) -> None:
    assert recovered(10, seed).coverage >= 0.995
