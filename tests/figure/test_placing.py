"""Standing the figure on the stage."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from panelbeater.errors import DrawingError
from panelbeater.figure import place_figure
from tests.figure.people import A_POSE, read


def test_a_placed_figure_stands_on_the_ground_at_its_height(tmp_path: Path) -> None:
    placed = place_figure(read(tmp_path, A_POSE), height=50, centre_x=-7, ground=300)
    x0, y0, x1, y1 = placed.silhouette.bounds
    assert (x0 + x1) / 2 == pytest.approx(-7)
    assert (y1, y1 - y0) == pytest.approx((300, 50))


def test_bones_regions_and_bodies_move_with_the_silhouette(tmp_path: Path) -> None:
    figure = read(tmp_path, A_POSE)
    placed = place_figure(figure, height=2 * figure.height, centre_x=0, ground=0)
    for before, after in zip(figure.bones, placed.bones, strict=True):
        assert after.region.area == pytest.approx(4 * before.region.area)
        assert after.body.area == pytest.approx(4 * before.body.area)
        np.testing.assert_allclose(
            after.end - after.start, 2 * (before.end - before.start), atol=1e-9
        )


@pytest.mark.parametrize("height", [0.0, -3.0, float("nan"), float("inf")])
def test_a_figure_cannot_stand_without_height(tmp_path: Path, height: float) -> None:
    figure = read(tmp_path, A_POSE)
    with pytest.raises(DrawingError, match=r"figure\.svg"):
        place_figure(figure, height=height, centre_x=0, ground=0)
