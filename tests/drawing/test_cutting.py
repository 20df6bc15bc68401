"""Pieces too large for the body are cut into panels that fit."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity

from panelbeater.drawing import cut_to_size, read_drawing
from panelbeater.drawing.cutting import Limits, box_sides, cut_polygon, shared_edges
from panelbeater.terms.drawing import Drawing
from tests.drawing.sheets import CASES, sheet, unlike

VAN = (
    '<rect id="flank" x="5" y="20" width="90" height="40" fill="#c33"/>'
    '<circle id="wheel_a" cx="20" cy="60" r="14"/>'
    '<circle id="wheel_b" cx="80" cy="60" r="14"/>'
)


def van(tmp_path: Path) -> Drawing:
    return read_drawing(sheet(tmp_path, VAN))


def parts_of(drawing: Drawing, name: str) -> list[Polygon]:
    found = [piece.outline for piece in drawing.pieces if piece.cut_from == name]
    assert all(isinstance(part, Polygon) for part in found)
    return [part for part in found if isinstance(part, Polygon)]


def test_parts_fit_the_limits_and_are_named_in_reading_order(tmp_path: Path) -> None:
    cut = cut_to_size(van(tmp_path), largest_area=1000, longest=50, min_pieces=1)
    flanks = [piece for piece in cut.pieces if piece.cut_from == "flank"]
    assert [piece.id for piece in flanks] == [f"flank.{k + 1}" for k in range(len(flanks))]
    assert [p.outline.centroid.x for p in flanks] == sorted(
        p.outline.centroid.x for p in flanks
    )
    for piece in flanks:
        assert piece.outline.area <= 1000
        assert box_sides(piece.outline)[0] <= 50


def test_wheels_stay_whole(tmp_path: Path) -> None:
    cut = cut_to_size(van(tmp_path), largest_area=100, longest=12, min_pieces=60)
    assert {"wheel_a", "wheel_b"} <= {piece.id for piece in cut.pieces}


def test_a_drawing_that_fits_is_left_alone(tmp_path: Path) -> None:
    drawing = van(tmp_path)
    cut = cut_to_size(drawing, largest_area=1e4, longest=200, min_pieces=3)
    assert [piece.id for piece in cut.pieces] == [piece.id for piece in drawing.pieces]


def test_more_cuts_are_made_until_there_are_enough_pieces(tmp_path: Path) -> None:
    cut = cut_to_size(van(tmp_path), largest_area=1e4, longest=200, min_pieces=7)
    assert len(cut.pieces) == 7


def test_a_list_can_forbid_cutting(tmp_path: Path) -> None:
    rows = tmp_path / "pieces.csv"
    rows.write_text("piece,cut\nflank,no\n")
    cut = cut_to_size(
        van(tmp_path), largest_area=100, longest=20, min_pieces=9, piece_list=rows
    )
    assert len(cut.pieces) == 3


def test_parts_repaint_the_whole(tmp_path: Path) -> None:
    path = sheet(tmp_path, VAN)
    cut = cut_to_size(read_drawing(path), largest_area=700, longest=40, min_pieces=1)
    assert unlike(path, [piece.artwork for piece in cut.pieces], cut.defs) < 0.001
    assert not any("url(" in piece.artwork for piece in cut.pieces)  # flat fills are cut


def test_parts_with_lined_artwork_are_clipped_and_repaint_the_whole(tmp_path: Path) -> None:
    lined = VAN.replace('fill="#c33"', 'fill="#c33" stroke="#222" stroke-width="2"')
    path = sheet(tmp_path, lined)
    cut = cut_to_size(read_drawing(path), largest_area=700, longest=40, min_pieces=1)
    assert unlike(path, [piece.artwork for piece in cut.pieces], cut.defs) < 0.001
    clips = set(re.findall(r"url\(#([^)]+)\)", "".join(p.artwork for p in cut.pieces)))
    assert clips
    assert all(f'id="{clip}"' in cut.defs for clip in clips)


def test_separate_parts_of_a_named_piece_come_apart_before_they_are_cut(
    tmp_path: Path,
) -> None:
    drawing = read_drawing(
        sheet(
            tmp_path,
            '<g id="rails"><rect width="90" height="20"/>'
            '<rect y="50" width="90" height="20"/>'
            "</g>",
        )
    )
    cut = cut_to_size(drawing, largest_area=1e4, longest=95, min_pieces=2)
    assert [piece.outline.area for piece in cut.pieces] == pytest.approx([1800, 1800])


def test_a_cut_follows_a_step_of_the_outline_near_the_middle() -> None:
    cab = Polygon([(0, 0), (46, 0), (46, 10), (100, 10), (100, 40), (0, 40)])
    parts = cut_polygon(cab, [], Limits(1e9, 70, 2))
    edges = sorted(part.bounds[0] for part in parts)
    assert edges == pytest.approx([0, 46])


def test_a_cut_follows_the_edge_of_a_piece_that_lies_over_it() -> None:
    flank = shapely.box(0, 0, 100, 40)
    door = shapely.box(55, 5, 80, 35)
    parts = cut_polygon(flank, [door], Limits(1e9, 70, 2))
    assert sorted(part.bounds[0] for part in parts) == pytest.approx([0, 55])


@st.composite
def outlines(draw: st.DrawFn) -> Polygon:
    """Stepped outlines such as cabs and beds: columns of varying height and floor."""
    heights = draw(st.lists(st.integers(8, 60), min_size=2, max_size=7))
    floors = draw(st.lists(st.integers(0, 6), min_size=len(heights), max_size=len(heights)))
    tops = [(10.0 * k + dx, -float(h)) for k, h in enumerate(heights) for dx in (0, 10)]
    lows = [(10.0 * k + dx, float(f)) for k, f in enumerate(floors) for dx in (0, 10)]
    return Polygon(tops + lows[::-1])


@settings(max_examples=25, derandomize=True, deadline=None)
@given(outline=outlines(), share=st.floats(0.12, 0.6))
def test_parts_are_exactly_the_whole(outline: Polygon, share: float) -> None:
    limits = Limits(share * outline.area, 1e9, 1.0)
    parts = shared_edges(cut_polygon(outline, [], limits))
    total = sum(part.area for part in parts)
    assert total == pytest.approx(outline.area, rel=1e-9)
    union = shapely.union_all(parts)
    assert union.symmetric_difference(outline).area <= 1e-9 * outline.area
    assert all(part.is_valid and part.area >= 0.02 * share * outline.area for part in parts)
    assert max(part.area for part in parts) <= share * outline.area * (1 + 1e-9)


@pytest.mark.skipif(not CASES, reason="the folder of real drawings is not here")
@pytest.mark.parametrize("path", CASES[::3], ids=lambda path: path.stem)
def test_real_drawings_are_cut_exactly(path: Path) -> None:
    drawing = read_drawing(path)
    x0, _, x1, _ = drawing.silhouette.bounds
    cut = cut_to_size(
        drawing,
        largest_area=0.1 * drawing.silhouette.area,
        longest=0.4 * (x1 - x0) + 0.1,
        min_pieces=12,
    )
    assert len(cut.pieces) >= 12
    for piece in drawing.pieces:
        parts = parts_of(cut, piece.id)
        if parts:
            union = shapely.union_all(parts)
            off = union.symmetric_difference(piece.outline).area
            assert off <= 1e-9 * piece.outline.area
    assert unlike(path, [piece.artwork for piece in cut.pieces], cut.defs) < 0.003


def _bar(turn: float) -> Polygon:
    """100 x 8, leaning by so many degrees."""
    return affinity.rotate(shapely.box(0, 0, 100, 8), turn)


@pytest.mark.parametrize(
    ("turn", "across"),
    [(0, 90), (8, 90), (45, 135), (82, 0), (90, 0), (135, 45), (172, 90)],
)
def test_a_strut_is_cut_across_and_a_nearly_level_one_upright(
    turn: float, across: float
) -> None:
    bar = _bar(turn)
    parts = cut_polygon(bar, [], Limits(1e9, 70, 1))
    assert [part.area for part in parts] == pytest.approx([400, 400], rel=0.02)
    seam = parts[0].boundary.intersection(parts[1].boundary)
    (x0, y0), *_, (x1, y1) = shapely.get_coordinates(seam)
    along = np.degrees(np.arctan2(y1 - y0, x1 - x0)) % 180
    assert min(abs(along - across), 180 - abs(along - across)) < 0.1


def test_an_outline_without_area_has_no_sides() -> None:
    assert box_sides(Polygon([(0, 0), (5, 5), (9, 9)]))[:2] == (0, 0)
    assert box_sides(Polygon())[:2] == (0, 0)


def test_offcuts_that_are_crumbs_or_thin_stay_on_their_neighbour() -> None:
    # A cut at the middle of a comb would leave each tooth's tip a part of its own.
    teeth = [(x + dx, 60 + dy) for x in range(0, 90, 10)
             for dx, dy in ((0, 0), (0, 3), (5, 3), (5, 0))]  # fmt: skip
    comb = Polygon([(0, 0), *[(x, y) for x, y in teeth], (90, 60), (90, 0)])
    parts = shared_edges(cut_polygon(comb, [], Limits(1e9, 65, 6)))
    assert len(parts) == 2
    assert sum(part.area for part in parts) == pytest.approx(comb.area)
    assert min(box_sides(part)[1] for part in parts) >= 6


def test_a_piece_that_no_sound_cut_divides_stays_and_is_told(tmp_path: Path) -> None:
    # Twenty blades that meet in a hub: any straight cut leaves many parts, all crumbs.
    turn = np.arange(80) * np.pi / 40
    far = np.where(np.arange(80) % 4 == 0, 45.0, 2.0)
    star = np.stack([50 + far * np.cos(turn), 50 + far * np.sin(turn)], axis=1)
    points = " ".join(f"{x:.3f},{y:.3f}" for x, y in star)
    drawing = read_drawing(sheet(tmp_path, f'<polygon id="fan" points="{points}"/>'))
    cut = cut_to_size(drawing, largest_area=1e4, longest=20, min_pieces=3)
    whole = shapely.union_all([piece.outline for piece in cut.pieces])
    assert whole.area == pytest.approx(drawing.silhouette.area, rel=1e-6)
    told = [line for line in cut.warnings if "stays larger than wished" in line]
    large = [p for p in cut.pieces if box_sides(p.outline)[0] > 20]
    assert len(told) == len(large) > 0


def test_a_crumb_stays_with_its_nearest_lump_which_is_then_left_whole(
    tmp_path: Path,
) -> None:
    rails = (
        '<g id="rails"><rect width="90" height="20"/><rect y="50" width="90" height="20"/>'
        '<rect x="40" y="75" width="2" height="2"/></g>'
    )
    drawing = read_drawing(sheet(tmp_path, rails))
    cut = cut_to_size(drawing, largest_area=1e4, longest=80, min_pieces=9)
    assert len(cut.pieces) == 9
    (lump,) = [p.outline for p in cut.pieces if not isinstance(p.outline, Polygon)]
    assert lump.area == pytest.approx(1800 + 4)
    assert sum(p.outline.area for p in cut.pieces) == pytest.approx(3604)
    assert [w for w in cut.warnings if "stays larger" in w]  # the lump, 90 long


@pytest.mark.parametrize(("area", "longest"), [(0, 10), (10, 0), (float("nan"), 10)])
def test_limits_that_nothing_can_fit_are_our_own_mistake(
    area: float, longest: float, tmp_path: Path
) -> None:
    with pytest.raises(ValueError, match="must be positive"):
        cut_to_size(van(tmp_path), largest_area=area, longest=longest, min_pieces=1)
