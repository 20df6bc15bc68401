"""Refinement: never a worse layout, never past a piece's allowance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from panelbeater.assignment.candidates import PieceForm, Placement, piece_form
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.refine import refine_placements
from panelbeater.assignment.search import Search, find_placements
from panelbeater.geometry.frames import map_shape, moved, rigid
from panelbeater.terms.drawing import Allowance, Piece, Shape
from panelbeater.terms.figure import Figure
from tests.assignment.small import COARSE, GROUND, small_figure, small_vehicle
from tests.assignment.tiny import tile_figure
from tests.vehicles import piece

FREE = AssignmentOptions(keep_bonus=0.0, resize_price=0.0, stretch_price=0.0)
"""Only area counts, so that the exact worth can be told from outside."""
FIGURE = tile_figure([box(0, 0, 40, 20)], speck=1e-3)
RIGID = Allowance(scale_min=1.0, scale_max=1.0, stretch_max=1.0)


def _placed(drawn: Piece, form: PieceForm, x: float, y: float, turn: float) -> Placement:
    matrix = rigid(np.array([x, y]), np.array(turn))
    return Placement(form.index, 0, matrix, 1.0, 1.0, map_shape(matrix, form.outline), 0.0)


def _refined(
    places: Sequence[Placement], pieces: Sequence[Piece], figure: Figure, ground: float
) -> tuple[Placement, ...]:
    forms = [piece_form(i, drawn, FREE) for i, drawn in enumerate(pieces)]
    return refine_placements(places, forms, pieces, figure, ground, FREE, n_rounds=3)


def _worth(outline: Shape, figure: Figure) -> float:
    """Own-region area won, less spill."""
    own = outline.intersection(figure.bones[0].region).area
    return float(own - FREE.spill_price * (outline.area - own))


@given(st.floats(14, 26), st.floats(6, 14), st.floats(-0.6, 0.6))
def test_a_plate_laid_askew_is_never_left_worse(x: float, y: float, turn: float) -> None:
    plate = piece("plate", box(0, 0, 36, 16), 0)
    form = piece_form(0, plate, FREE)
    before = _placed(plate, form, x, y, turn)
    (after,) = _refined([before], [plate], FIGURE, 500.0)
    # Overlapping its own region earns three hundredths more where neighbours share it.
    slack = 0.03 * plate.outline.area
    assert _worth(after.outline, FIGURE) >= _worth(before.outline, FIGURE) - slack
    assert (
        plate.allowance.scale_min - 1e-6 <= after.scale <= plate.allowance.scale_max + 1e-6
    )
    assert 1 <= after.stretch <= plate.allowance.stretch_max + 1e-6
    assert map_shape(after.stage_from_piece, form.outline).equals_exact(after.outline, 1e-9)


def test_a_plate_off_its_spot_is_nudged_onto_it() -> None:
    plate = replace(piece("plate", box(0, 0, 40, 20), 0), allowance=RIGID)
    form = piece_form(0, plate, FREE)
    before = _placed(plate, form, 22.0, 9.0, 0.05)
    (after,) = _refined([before], [plate], FIGURE, 500.0)
    region = FIGURE.bones[0].region
    won = after.outline.intersection(region).area / region.area
    assert won > 0.97 > before.outline.intersection(region).area / region.area


def test_a_perfect_layout_is_not_lost() -> None:
    plate = replace(piece("plate", box(0, 0, 40, 20), 0), allowance=RIGID)
    form = piece_form(0, plate, FREE)
    (after,) = _refined([_placed(plate, form, 20.0, 10.0, 0.0)], [plate], FIGURE, 500.0)
    assert after.outline.symmetric_difference(FIGURE.bones[0].region).area < 1e-6


def test_nothing_is_refined_into_the_ground() -> None:
    # The region hangs below the ground line: the plate may not follow it.
    plate = piece("plate", box(0, 0, 30, 12), 0)
    form = piece_form(0, plate, FREE)
    (after,) = _refined([_placed(plate, form, 20.0, 4.0, 0.0)], [plate], FIGURE, 12.0)
    assert after.outline.bounds[3] <= 12.0 + 1e-6


@pytest.mark.parametrize("trait", ["signature", "wheel"])
def test_wheels_and_signature_pieces_keep_their_proportions(trait: str) -> None:
    disc = shapely.Point(0, 0).buffer(8)
    plate = (piece("disc", disc, 0, "wheel") if trait == "wheel"
             else piece("disc", disc, 0, signature=True))  # fmt: skip
    form = piece_form(0, plate, FREE)
    (after,) = _refined([_placed(plate, form, 18.0, 12.0, 0.0)], [plate], FIGURE, 500.0)
    assert after.stretch == pytest.approx(1)
    long, short = np.linalg.svd(after.stage_from_piece[:2, :2], compute_uv=False)
    assert long == pytest.approx(short)


def test_a_whole_layout_covers_no_less_after_refinement() -> None:
    vehicle, figure = small_vehicle(), small_figure()
    search = Search.over(vehicle.pieces, figure, GROUND, COARSE)
    found = find_placements(search, search.plain_worths())
    first = [next(p for p in found if p.piece == i) for i in range(len(vehicle.pieces))]
    forms = [piece_form(i, p, COARSE) for i, p in enumerate(vehicle.pieces)]
    after = refine_placements(
        first, forms, vehicle.pieces, figure, GROUND, COARSE, n_rounds=3
    )
    assert [(p.piece, p.region) for p in after] == [(p.piece, p.region) for p in first]
    assert _own(after, figure) >= _own(first, figure) - 0.01
    for drawn, place in zip(vehicle.pieces, after, strict=True):
        low, high = drawn.allowance.scale_min, drawn.allowance.scale_max
        assert low - 1e-6 <= place.scale <= high + 1e-6
        assert place.stretch <= drawn.allowance.stretch_max + 1e-6


def test_a_form_is_centred_and_lists_only_allowed_sizes() -> None:
    drawn = piece("plate", box(100, 100, 130, 110), 0)
    form = piece_form(0, drawn, COARSE)
    assert form.outline.centroid.distance(shapely.Point(0, 0)) < 1e-9
    assert form.outline.equals_exact(map_shape(moved(-115, -105), drawn.outline), 1e-9)
    allowed = drawn.allowance
    assert np.all(
        (form.shapes[:, 0] >= allowed.scale_min) & (form.shapes[:, 0] <= allowed.scale_max)
    )
    stretches = np.maximum(form.shapes[:, 1], 1 / form.shapes[:, 1])
    assert stretches.max() <= allowed.stretch_max
    assert np.linalg.det(form.ways) == pytest.approx(form.shapes[:, 0] ** 2)


def _own(layout: Sequence[Placement], figure: Figure) -> float:
    """Share of the figure under pieces on their own region."""
    won = 0.0
    for region, bone in enumerate(figure.bones):
        mine = shapely.union_all([p.outline for p in layout if p.region == region])
        won += mine.intersection(bone.region).area
    return won / figure.silhouette.area
