"""Figures cut along their regions and shuffled are put together again."""

from __future__ import annotations

import pytest
import shapely

from panelbeater.assignment import AssignmentOptions, assign_pieces, offer_placements
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import BONE_IDS, Figure
from tests.assignment.cutouts import (
    TANGRAM_SQUARE,
    laid_outlines,
    own_region_coverage,
    shuffled,
    standing_fold,
)
from tests.assignment.tiny import tile_figure
from tests.figures import capsule_figure

pytestmark = [pytest.mark.solve, pytest.mark.slow]


def _recovered(
    figure: Figure, vehicle: Drawing, options: AssignmentOptions, n: int
) -> float:
    ground = float(figure.silhouette.bounds[3])
    pool = offer_placements(vehicle, figure, ground=ground, options=options)
    layout = assign_pieces(vehicle, figure, standing_fold(figure), pool, seed=1, budget=0.1)
    for drawn, outline in zip(vehicle.pieces, laid_outlines(vehicle, layout), strict=True):
        assert outline.area == pytest.approx(drawn.outline.area), "the pieces are rigid"
    return own_region_coverage(figure, vehicle, layout, n)


def test_a_figure_cut_along_its_regions_is_put_together_again() -> None:
    figure = capsule_figure(100)
    vehicle = shuffled([bone.region for bone in figure.bones])
    # Measured 0.9997.
    assert _recovered(figure, vehicle, AssignmentOptions(), len(BONE_IDS)) >= 0.995


def test_the_seven_tans_make_the_square() -> None:
    figure = tile_figure(TANGRAM_SQUARE, speck=0.5, at=200)
    # Measured 0.99998.
    assert _recovered(figure, shuffled(TANGRAM_SQUARE), AssignmentOptions(), 7) >= 0.995


def test_the_tans_are_the_published_ones() -> None:
    # Two large, one middle and two small triangles, a square and a parallelogram, as
    # multiples of the small triangle: 4 4 2 2 2 1 1 of a square of sixteen.
    small = shapely.union_all(TANGRAM_SQUARE).area / 16
    assert sorted(round(tan.area / small, 9) for tan in TANGRAM_SQUARE) == [
        1,
        1,
        2,
        2,
        2,
        4,
        4,
    ]
    assert shapely.union_all(TANGRAM_SQUARE).area == pytest.approx(80 * 80)
    assert sum(tan.area for tan in TANGRAM_SQUARE) == pytest.approx(80 * 80)
