"""Edge to edge: a piece slides home, and a puzzle comes together again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, box

from benchmarks.recovery import COVER_ONLY, recovered, shuffled
from panelbeater.assignment.candidates import Placement, piece_form
from panelbeater.assignment.flush import Border, Edges, flush_placements
from panelbeater.assignment.jigsaw import exchanged, jigsaw_placements
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.search import Search
from panelbeater.geometry.frames import map_shape, moved
from panelbeater.terms.drawing import Allowance, Wishes
from panelbeater.terms.figure import BONE_IDS
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


SAIL = Polygon([(100, 0), (134, 0), (128, 17), (100, 16)])


def lay_on(search: Search, tiles: tuple[int, int]) -> list[Placement]:
    """The kite and the sail on the middles of two tiles."""
    regions = [search.figure.bones[tile].region for tile in tiles]
    laid = []
    for i, (way, region) in enumerate(zip(search.ways, regions, strict=True)):
        place = moved(region.centroid.x, region.centroid.y)
        outline = map_shape(place, way.form.outline)
        laid.append(Placement(i, tiles[i], place, 1.0, 1.0, outline, 0.0))
    return laid


def kite_and_sail(allowance: Allowance = RIGID, pin: str | None = None) -> Search:
    pieces = [
        replace(piece(name, shape, i), allowance=allowance, wishes=Wishes(pin=pin))
        for i, (name, shape) in enumerate([("kite", KITE), ("sail", SAIL)])
    ]
    return Search.over(pieces, tile_figure([KITE, SAIL]), 500.0, AssignmentOptions())


def test_two_alike_pieces_in_each_others_place_go_home() -> None:
    search = kite_and_sail()
    home = exchanged(search, lay_on(search, (1, 0)))
    for place, tile in zip(home, (KITE, SAIL), strict=True):
        assert place.outline.intersection(tile).area > 0.99 * tile.area


def test_pieces_at_home_stay_to_the_last_digit() -> None:
    search = kite_and_sail()
    laid = lay_on(search, (0, 1))
    assert exchanged(search, laid) == tuple(laid)


def test_neither_what_gives_way_nor_what_is_pinned_is_exchanged() -> None:
    for search in (kite_and_sail(Allowance()), kite_and_sail(pin=BONE_IDS[1])):
        laid = lay_on(search, (1, 0))
        assert exchanged(search, laid) == tuple(laid)


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


@pytest.mark.solve
@pytest.mark.slow
def test_a_robot_with_parts_that_nearly_fit_each_others_place_is_recovered() -> None:
    assert recovered(15, 3).coverage >= 0.995
