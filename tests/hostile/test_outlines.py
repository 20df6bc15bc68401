"""Whatever is scribbled, outlines come out valid, and laying them together never fails."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import example, given
from hypothesis import strategies as st
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from panelbeater.geometry.overlay import joined, shared, shared_areas, without
from panelbeater.svg import settled
from panelbeater.svg.outlines import Fineness, StrokeStyle, filled, stroked
from panelbeater.svg.paths import Subpath
from panelbeater.terms.drawing import Shape
from tests.hostile.good import FEWER

GRID = 2.0**-15
# Corners on a coarse lattice touch, overlap and repeat; fine ones nearly coincide.
LATTICE = st.integers(0, 6).map(float)
FINE = st.floats(0, 6, allow_nan=False)
HAIR = st.tuples(st.integers(0, 6), st.floats(-1e-7, 1e-7)).map(sum).map(float)
RINGS = st.one_of(
    *(st.lists(st.tuples(xy, xy), min_size=3, max_size=14) for xy in (LATTICE, FINE, HAIR))
)


def _outline(rings: list[list[tuple[float, float]]], rule: str) -> Shape:
    return filled([np.array(ring, dtype=np.float64) for ring in rings], rule, GRID)


OUTLINES = st.builds(
    _outline,
    st.lists(RINGS, min_size=1, max_size=3),
    st.sampled_from(["nonzero", "evenodd"]),
)


def _is_sound(geometry: BaseGeometry) -> bool:
    return bool(shapely.is_valid(geometry)) and bool(np.isfinite(geometry.area))


SPIKE = [(4.0, 5.0), (2.0, 3.0), (3.0, 4.0), (0.0, 1.0), (0.0, 0.0)]
DUST = [(0.0, 2.0), (0.0, 0.0), (0.0, 1.0), (9.68e-256, 0.0)]


@example(SPIKE, "miter")
@example(DUST, "round")
@given(RINGS, st.sampled_from(["miter", "round", "bevel"]))
def test_any_ring_fills_and_strokes_to_valid_areas(
    ring: list[tuple[float, float]], join: str
) -> None:
    assert _is_sound(_outline([ring], "evenodd"))
    start, *rest = (np.array(spot) for spot in ring)
    pen = Subpath(start, tuple(spot[None] for spot in rest), closed=True)
    style = StrokeStyle(0.02, join=join)
    area = stroked([pen], style, np.eye(3), Fineness(0.01, GRID))
    assert _is_sound(area)


def test_an_invalid_buffer_settles() -> None:
    band = Polygon(SPIKE).buffer(0.01)
    assert not band.is_valid  # else this shows nothing
    assert _is_sound(settled(band, GRID))


@FEWER
@given(OUTLINES, OUTLINES)
def test_any_two_outlines_can_be_laid_together(one: Shape, other: Shape) -> None:
    assert one.is_valid
    assert other.is_valid
    both, rest, whole = shared(one, other), without(one, other), joined([one, other])
    assert all(map(_is_sound, (both, rest, whole)))
    slack = 1e-3 * (1 + whole.area)
    assert abs(one.area - both.area - rest.area) <= slack
    assert abs(one.area + other.area - both.area - whole.area) <= slack
    assert abs(float(shared_areas(one, other)) - both.area) <= slack


@FEWER
@given(OUTLINES, OUTLINES, st.floats(0, 6.3), st.floats(0.1, 3))
def test_turned_outlines_can_be_laid_together(
    one: Shape, other: Shape, turn: float, scale: float
) -> None:
    c, s = scale * np.cos(turn), scale * np.sin(turn)
    turned = shapely.transform(other, lambda xy: xy @ np.array([[c, s], [-s, c]]))
    both, rest = shared(one, turned), without(one, turned)
    assert abs(one.area - both.area - rest.area) <= 1e-3 * (1 + one.area)
