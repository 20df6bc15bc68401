"""Which piece lies in front on the robot."""

from __future__ import annotations

from shapely import box

from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.stacking import drawn_over, stacking
from tests.assignment.tiny import laid
from tests.vehicles import piece

OPTIONS = AssignmentOptions()


def test_what_was_shown_lies_over_what_was_resized() -> None:
    pieces = (piece("plate", box(0, 0, 4, 4), 0), piece("roof", box(9, 0, 13, 4), 1))
    kept, resized = laid(0, 0, box(0, 0, 4, 4)), laid(1, 0, box(0, 0, 6, 6), scale=1.5)
    assert stacking(pieces, (kept, resized), OPTIONS) == (1, 0)
    assert stacking(pieces, (kept, laid(1, 0, box(0, 0, 4, 4))), OPTIONS) == (0, 1)


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
    assert stacking(pieces, here, OPTIONS) == (0, 1, 2)


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
    depths = stacking(pieces, here, OPTIONS)
    assert depths[0] > depths[1]
    assert sorted(depths) == [0, 1, 2]
