"""All pieces at once: the slope is exact, nothing is lost, bounds are hard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from panelbeater.assignment.candidates import Placement, laid_again, piece_form
from panelbeater.assignment.draft import draft_pieces
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.rim import Rim
from panelbeater.assignment.together import layout_worth, refine_together
from panelbeater.geometry.frames import map_shape, rigid
from panelbeater.terms.drawing import Piece
from panelbeater.terms.figure import Figure
from tests.assignment.cutouts import RIGID, standing_fold
from tests.assignment.small import GROUND, small_figure, small_vehicle
from tests.assignment.tiny import tile_figure
from tests.vehicles import piece

OPTIONS = AssignmentOptions()
HALVES = tile_figure([box(0, 0, 40, 20), box(40, 0, 80, 20)], speck=1e-3)


def _laid(pieces: Sequence[Piece], spots: Sequence[tuple[float, ...]]) -> list[Placement]:
    """Pieces with centroid and turn, each on the region of its own number."""
    out = []
    for i, (drawn, (x, y, turn)) in enumerate(zip(pieces, spots, strict=True)):
        matrix = rigid(np.array([x, y]), np.array(turn))
        form = piece_form(i, drawn, OPTIONS)
        out.append(Placement(i, i, matrix, 1.0, 1.0, map_shape(matrix, form.outline), 0.0))
    return out


def _together(
    laid: Sequence[Placement],
    pieces: Sequence[Piece],
    figure: Figure,
    ground: float = 500.0,
) -> tuple[tuple[Placement, ...], float]:
    """The layout afterwards, and how much more it is worth."""
    forms = [piece_form(i, drawn, OPTIONS) for i, drawn in enumerate(pieces)]
    after = refine_together(laid, forms, pieces, figure, ground, OPTIONS)
    worth = [layout_worth(some, forms, pieces, figure, OPTIONS) for some in (laid, after)]
    return after, worth[1] - worth[0]


@pytest.mark.parametrize("unknown", range(5))
def test_the_slope_of_a_shared_area_is_that_of_finite_differences(unknown: int) -> None:
    holed = Polygon(box(0, 0, 36, 16).exterior, [Point(9, 8).buffer(4).exterior])
    plate = piece("plate", holed, 0)
    form = piece_form(0, plate, OPTIONS)
    still = Point(30, 12).buffer(14)
    x = np.array([22.0, 9.0, 0.4, 0.1, -0.15])

    def shape(at: np.ndarray) -> shapely.Polygon:
        turn, stretch = (
            rigid(at[:2], at[2]),
            np.diag(np.exp(at[3] + at[4] * np.array([0.5, -0.5]))),
        )
        axis = rigid(np.zeros(2), np.array(form.axis))[:2, :2]
        turn[:2, :2] @= axis @ stretch @ axis.T
        laid = map_shape(turn, form.outline)
        assert isinstance(laid, shapely.Polygon)
        return shapely.geometry.polygon.orient(laid)

    step = np.zeros(5)
    step[unknown] = 1e-5
    ends = [shape(x + sign * step).intersection(still).area for sign in (1, -1)]
    slope = Rim.of(shape(x), x, form.axis).flow(still)[unknown]
    assert slope == pytest.approx((ends[0] - ends[1]) / 2e-5, rel=1e-5, abs=1e-4)


def test_the_known_answer_loses_nothing() -> None:
    plates = [replace(piece(f"plate_{i}", box(0, 0, 40, 20), i), allowance=RIGID)
              for i in range(2)]  # fmt: skip
    laid = _laid(plates, [(20, 10, 0), (60, 10, 0)])
    after, _ = _together(laid, plates, HALVES)
    for place, bone in zip(after, HALVES.bones, strict=False):
        assert place.outline.symmetric_difference(bone.region).area < 1e-6


def test_plates_that_lie_askew_are_squeezed_together() -> None:
    plates = [replace(piece(f"plate_{i}", box(0, 0, 40, 20), i), allowance=RIGID)
              for i in range(2)]  # fmt: skip
    after, gain = _together(
        _laid(plates, [(21, 9.5, 0.05), (60.5, 10.5, -0.04)]), plates, HALVES
    )
    assert gain > 40
    for place, bone in zip(after, HALVES.bones, strict=False):
        assert place.outline.intersection(bone.region).area > 0.985 * bone.region.area


def test_allowances_are_hard_and_signature_pieces_keep_their_proportions() -> None:
    door = piece("door", box(0, 0, 30, 12), 0)
    crest = piece("crest", box(0, 0, 30, 12), 1, signature=True)
    after, gain = _together(
        _laid([door, crest], [(20, 10, 0), (60, 10, 0)]), [door, crest], HALVES
    )
    assert gain > 0
    for place, drawn in zip(after, [door, crest], strict=True):
        allowed = drawn.allowance
        assert allowed.scale_min <= place.scale <= allowed.scale_max
        assert place.stretch <= allowed.stretch_max
    assert after[1].stretch == pytest.approx(1.0)


@pytest.mark.solve
def test_a_draft_is_worth_more_and_stands_on_the_ground() -> None:
    vehicle, figure = small_vehicle(), small_figure()
    draft = draft_pieces(vehicle, figure, standing_fold(figure), ground=GROUND)
    after, gain = _together(laid_again(vehicle, draft), vehicle.pieces, figure, GROUND)
    assert gain > 0.02 * figure.silhouette.area
    assert max(place.outline.bounds[3] for place in after) <= GROUND + 1e-9
    for place in after:
        assert place.outline.intersects(figure.bones[place.region].body)


def test_a_plate_that_lies_on_the_ground_is_still_moved_along_it() -> None:
    plate = replace(piece("plate", box(0, 0, 40, 20), 0), allowance=RIGID)
    other = replace(piece("other", box(0, 0, 40, 20), 1), allowance=RIGID)
    after, gain = _together(
        _laid([plate, other], [(21.5, 10, 0), (60, 10, 0)]), [plate, other], HALVES, 20.0
    )
    assert gain > 15
    assert after[0].outline.bounds[3] <= 20 + 1e-9
