"""Shapes are read as an independent renderer (resvg) paints them."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely

from panelbeater.svg import read_svg
from panelbeater.svg.paint import GREY
from tests.drawing.features import FEATURES
from tests.drawing.sheets import CASES, match, sheet, unlike


@pytest.mark.parametrize("feature", FEATURES)
def test_shapes_are_read_and_redrawn_as_resvg_paints_them(
    feature: str, tmp_path: Path
) -> None:
    path = sheet(tmp_path, FEATURES[feature])
    drawing = read_svg(path)
    assert match(path) >= 0.985
    assert unlike(path, [shape.markup for shape in drawing.shapes], drawing.defs) < 0.002


@pytest.mark.skipif(not CASES, reason="the folder of real drawings is not here")
@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_real_drawings_are_read_as_resvg_paints_them(path: Path) -> None:
    assert match(path) >= 0.985


def test_areas_are_those_of_geometry(tmp_path: Path) -> None:
    drawing = read_svg(
        sheet(
            tmp_path,
            '<circle cx="50" cy="50" r="40"/><ellipse cx="50" cy="50" rx="40" ry="10"/>'
            '<path d="M10 10h30v20h-30z" stroke="#000" stroke-width="2" '
            'stroke-linejoin="round"/>',
        )
    )
    disc, ellipse, plate = (shape.outline.area for shape in drawing.shapes)
    assert disc == pytest.approx(math.pi * 1600, rel=3e-3)
    assert ellipse == pytest.approx(math.pi * 400, rel=3e-3)
    # Steiner: area + perimeter * r + pi r^2.
    assert plate == pytest.approx(600 + 100 + math.pi, rel=1e-3)
    assert drawing.shapes[2].fill_outline.area == pytest.approx(600)


def test_a_self_touching_ring_becomes_valid_and_keeps_both_lobes(tmp_path: Path) -> None:
    drawing = read_svg(sheet(tmp_path, '<path d="M10 10L50 50L90 10V90L50 50L10 90Z"/>'))
    outline = drawing.shapes[0].outline
    assert outline.is_valid
    assert outline.area == pytest.approx(3200)


def test_view_box_units_are_kept_whatever_the_page_size(tmp_path: Path) -> None:
    path = sheet(
        tmp_path,
        '<rect x="1" y="2" width="4" height="3"/>',
        root='viewBox="0 0 10 20" width="50mm" height="100mm"',
    )
    assert read_svg(path).shapes[0].outline.bounds == pytest.approx((1, 2, 5, 5), abs=1e-4)


def test_hidden_bones_are_read_as_lines(tmp_path: Path) -> None:
    drawing = read_svg(
        sheet(
            tmp_path,
            '<g id="bones" display="none" transform="translate(10 0)">'
            '<line id="shank" x1="1" y1="2" x2="3" y2="4" stroke="#000"/>'
            '<polyline points="0,0 5,5 9,0" fill="none"/></g>',
        )
    )
    shank, chain = drawing.shapes
    assert shank.hidden
    assert shank.labels == ("bones", "shank")
    assert shank.lines == (((11.0, 2.0), (13.0, 4.0)),)
    assert chain.lines == (((10.0, 0.0), (15.0, 5.0), (19.0, 0.0)),)
    assert chain.outline.is_empty


def test_labels_of_editors_come_with_ids_outermost_first(tmp_path: Path) -> None:
    drawing = read_svg(
        sheet(
            tmp_path,
            '<g id="layer1" inkscape:groupmode="layer" inkscape:label="cab">'
            '<rect id="r7" width="5" height="5"/></g>',
        )
    )
    assert drawing.shapes[0].labels == ("layer1", "cab", "r7")
    assert drawing.shapes[0].groups[0].is_layer


def test_a_gradient_has_the_mean_colour_of_its_stops(tmp_path: Path) -> None:
    drawing = read_svg(sheet(tmp_path, FEATURES["gradient"]))
    assert drawing.shapes[0].fill == "#800080"
    assert 'id="pb-' in drawing.defs


def test_a_transparent_fill_is_kept_and_told_apart(tmp_path: Path) -> None:
    drawing = read_svg(sheet(tmp_path, '<rect width="9" height="9" fill="transparent"/>'))
    assert drawing.shapes[0].opacity == 0.0


def test_a_nested_drawing_without_any_size_is_not_shown(tmp_path: Path) -> None:
    # SVG 2, 8.2: a width of zero disables rendering. resvg shows it all the same.
    inner = '<svg width="0" height="50"><rect width="60" height="60"/></svg>'
    drawing = read_svg(sheet(tmp_path, f'<rect width="40" height="40"/>{inner}'))
    assert [shape.hidden for shape in drawing.shapes] == [False, True]


def test_a_pattern_is_painted_in_its_first_colour(tmp_path: Path) -> None:
    drawing = read_svg(
        sheet(
            tmp_path,
            '<pattern id="p"><g fill="none"/><rect fill="#0a0"/></pattern><pattern id="q"/>'
            '<rect width="5" height="5" fill="url(#p)"/>'
            '<rect x="9" width="5" height="5" fill="url(#q)"/>',
        )
    )
    assert [shape.fill for shape in drawing.shapes] == ["#00aa00", GREY]


@pytest.mark.parametrize(
    ("body", "word"),
    [
        ("<text>GO</text>", "convert text to outlines"),
        ('<image href="photo.png"/>', "image"),
        ('<mask id="m"/><rect width="5" height="5" mask="url(#m)"/>', "mask"),
        ('<filter id="f"/><rect width="5" height="5" filter="url(#f)"/>', "filter"),
        ('<path d="M0 0h9v9z m oops"/>', "mistake"),
        ('<use href="#gone"/>', "points to nothing"),
        (
            '<pattern id="p"><rect fill="#0a0" width="9" height="9"/></pattern>'
            '<rect width="5" height="5" fill="url(#p)"/>',
            "one plain colour",
        ),
        ('<rect width="5" height="5" fill="rgb(1,two,3)"/>', "not understood"),
        ('<rect width="5" height="5" fill="rgb(1,2)"/>', "not understood"),
        ('<rect width="5" height="5" clip-path="url(#gone)"/>', "does not exist"),
    ],
)
def test_what_cannot_be_used_is_said(body: str, word: str, tmp_path: Path) -> None:
    drawing = read_svg(sheet(tmp_path, body + '<rect width="50" height="50"/>'))
    assert any(word in warning for warning in drawing.warnings)
    assert all(warning.startswith("lorry.svg: ") for warning in drawing.warnings)


def test_namespace_entities_of_drawing_programs_load(tmp_path: Path) -> None:
    path = tmp_path / "lorry.svg"
    path.write_text(
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "svg11.dtd" ['
        '<!ENTITY ns_svg "http://www.w3.org/2000/svg">]>'
        '<svg xmlns="&ns_svg;" viewBox="0 0 9 9"><rect width="5" height="5"/></svg>'
    )
    assert len(read_svg(path).shapes) == 1


def test_all_outlines_share_one_grid_of_powers_of_two(tmp_path: Path) -> None:
    drawing = read_svg(sheet(tmp_path, '<circle cx="33.3" cy="33.3" r="30.3"/>'))
    corners = shapely.get_coordinates(drawing.shapes[0].outline) * 2.0**16
    assert (corners == corners.round()).all()
