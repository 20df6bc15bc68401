"""Overlays give the right area also where plain arithmetic gives up."""

from __future__ import annotations

import pytest
import shapely
from shapely import Polygon, box

from panelbeater.geometry.overlay import joined, shared, shared_areas, without


def test_overlays_agree_with_areas_worked_out_by_hand() -> None:
    one, other = box(0, 0, 2, 2), box(1, 0, 3, 2)
    assert shared(one, other).area == pytest.approx(2.0)
    assert without(one, other).area == pytest.approx(2.0)
    assert joined([one, other]).area == pytest.approx(6.0)
    assert shared_areas(one, [other, box(9, 9, 10, 10)]).tolist() == [2.0, 0.0]


def test_a_ring_that_crosses_itself_is_mended_not_fatal() -> None:
    bow = Polygon([(0, 0), (2, 2), (2, 0), (0, 2)])  # two triangles of area 1 each
    with pytest.raises(shapely.GEOSException):
        shapely.intersection(bow, Polygon([(0, 0), (2, 2), (2, 0), (0, 2.5)]))
    assert shared(bow, box(-1, -1, 3, 3)).area == pytest.approx(2.0)
    assert shared_areas(bow, [box(0, 0, 1, 2)]).tolist() == pytest.approx([1.0])
