"""What is told when no size of the robot hides in the vehicle."""

from __future__ import annotations

import pytest
from shapely import box

from panelbeater.errors import NoFoldError
from panelbeater.fold import PATIENCE
from panelbeater.sizing import SHRINKS, largest_that_hides
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Fold
from tests.figures import capsule_figure
from tests.vehicles import drawing, piece


def test_a_body_that_never_hides_is_told_which_piece_must_reach_how_much_further() -> None:
    cart = drawing(
        piece("bed", box(0, 0, 60, 20), 0), piece("wheel", box(5, 15, 20, 30), 1)
    )
    tried = []

    def never(figure: Figure, patience: int) -> tuple[Fold, ...]:
        tried.append((figure.height, patience))
        # A foot stands out 4 below the wheel, a hand 3 behind the bed.
        out = {"foot_l": box(10, 30, 15, 34), "hand_r": box(60, 2, 63, 8)}
        raise NoFoldError("the body does not fit", out)

    with pytest.raises(NoFoldError) as caught:
        largest_that_hides(cart, capsule_figure(50), None, never)
    assert str(caught.value) == (
        "the body does not fit; or let pieces reach further: wheel by 4 for foot_l, "
        "bed by 3 for hand_r"
    )
    assert list(caught.value.showing) == ["foot_l", "hand_r"]
    # Only the last size is worth all patience: before it a smaller one may do.
    assert [patience for _, patience in tried] == [0] * len(SHRINKS) + [PATIENCE]


def test_a_height_that_is_asked_for_is_the_only_one_tried() -> None:
    cart = drawing(piece("bed", box(0, 0, 60, 20), 0))
    tried = []

    def never(figure: Figure, patience: int) -> tuple[Fold, ...]:
        tried.append((figure.height, patience))
        raise NoFoldError("the body does not fit")

    with pytest.raises(NoFoldError, match=r"^the body does not fit$"):
        largest_that_hides(cart, capsule_figure(50), 30.0, never)
    assert len(tried) == 1
    assert tried[0] == pytest.approx((30.0, PATIENCE))
