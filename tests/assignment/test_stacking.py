"""Which piece lies in front on the robot."""

from __future__ import annotations

import numpy as np
from shapely import Polygon, box, union_all

from panelbeater.assignment import robot_stacking
from panelbeater.assignment.candidates import PieceForm, piece_form
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.stacking import drawn_over, stacking
from panelbeater.geometry.frames import moved
from panelbeater.terms.arrays import Flags
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.drawing import Drawing, Piece
from tests.assignment.tiny import laid
from tests.vehicles import piece


def forms(pieces: tuple[Piece, ...]) -> list[PieceForm]:
    return [piece_form(i, one, AssignmentOptions()) for i, one in enumerate(pieces)]


def test_what_was_shown_lies_over_what_was_resized() -> None:
    pieces = (piece("plate", box(0, 0, 4, 4), 0), piece("roof", box(9, 0, 13, 4), 1))
    kept, resized = laid(0, 0, box(0, 0, 4, 4)), laid(1, 0, box(0, 0, 6, 6), scale=1.5)
    assert stacking(pieces, (kept, resized), forms(pieces)) == (1, 0)
    assert stacking(pieces, (kept, laid(1, 0, box(0, 0, 4, 4))), forms(pieces)) == (0, 1)


def test_what_overlaps_in_the_vehicle_keeps_its_order() -> None:
    # The pane is drawn on the door: from the first frame on it must lie over it.
    pieces = (
        piece("door", box(0, 0, 4, 4), 0),
        piece("pane", box(1, 1, 3, 3), 1),
        piece("lamp", box(1.5, 1.5, 2, 2), 2),
    )
    here = (
        laid(0, 0, box(0, 0, 4, 4)),
        laid(1, 0, box(0, 0, 4, 4), scale=2.0),
        laid(2, 0, box(0, 0, 1, 1), scale=2.0),
    )
    assert drawn_over(pieces).tolist() == [
        [False, False, False], [True, False, False], [True, True, False],
    ]  # fmt: skip
    assert stacking(pieces, here, forms(pieces)) == (0, 1, 2)


def test_a_signature_piece_comes_to_the_front() -> None:
    pieces = (
        piece("lamp", box(0, 0, 2, 2), 0, signature=True),
        piece("plate", box(9, 0, 13, 4), 1),
        piece("roof", box(20, 0, 24, 4), 2),
    )
    here = (
        laid(0, 0, box(1, 1, 3, 3)),
        laid(1, 0, box(0, 0, 4, 4)),
        laid(2, 0, box(8, 0, 12, 4)),
    )
    depths = stacking(pieces, here, forms(pieces))
    assert depths[0] > depths[1]
    assert sorted(depths) == [0, 1, 2]


def _robot(
    pieces: tuple[Piece, ...], covers: tuple[Cover, ...], must: Flags | None = None
) -> tuple[int, ...]:
    silhouette = union_all([p.outline for p in pieces])
    assert isinstance(silhouette, Polygon) or silhouette.geom_type == "MultiPolygon"
    drawing = Drawing(pieces, silhouette, "")  # type: ignore[arg-type]
    n = len(pieces)
    over = np.zeros((n, n), dtype=np.bool_) if must is None else must
    return robot_stacking(drawing, Assignment(covers, 0, 0, "", 1), over)


def _cover(piece: str, region: str, x: float, y: float, scale: float = 1.0) -> Cover:
    place = moved(x, y) @ np.diag([scale, scale, 1.0])
    return Cover(piece, region, place, scale, 1.0, 0.0, "")


# A pane drawn on a door; on the robot the door shows more when it lies over the pane.
PIECES = (piece("door", box(0, 0, 4, 4), 0), piece("pane", box(3, 3, 5, 5), 1))
COVERS = (_cover("door", "torso", 2, 2), _cover("pane", "waist", 2, 4, 2.0))


def test_pieces_that_may_change_places_end_as_the_robot_shows_most() -> None:
    assert _robot(PIECES, COVERS) == (1, 0)


def test_what_must_stay_in_front_does() -> None:
    must = np.array([[False, False], [True, False]])
    assert _robot(PIECES, COVERS, must) == (0, 1)


def test_what_was_drawn_on_a_panel_stays_on_it_in_one_region() -> None:
    together = (COVERS[0], _cover("pane", "torso", 2, 4, 2.0))
    assert _robot(PIECES, together) == (0, 1)


def test_nobody_changes_places_for_what_is_hardly_seen() -> None:
    apart = (COVERS[0], _cover("pane", "waist", 5.99, 2, 2.0))
    assert _robot(PIECES, apart) == (0, 1)


def test_a_signature_piece_is_not_hidden_for_others_to_be_seen() -> None:
    known = (PIECES[0], piece("pane", box(3, 3, 5, 5), 1, signature=True))
    assert _robot(known, COVERS) == (0, 1)
