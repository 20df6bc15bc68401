"""Shapes are read as an independent renderer (resvg) paints them."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import shapely

from panelbeater.svg import read_svg
from tests.drawing.sheets import CASES, match, sheet, unlike

# One smallest drawing per feature; each is compared by silhouette and by picture.
FEATURES = {
    "nested groups and transforms": (
        '<g transform="translate(20 10)"><g transform="rotate(30) scale(2 1)">'
        '<rect x="5" y="5" width="20" height="30" transform="skewX(10)"/></g></g>'
    ),
    "rotation about a point": (
        '<rect x="30" y="30" width="40" height="20" transform="rotate(45, 50, 40)"/>'
    ),
    "transform-origin": (
        '<rect x="30" y="30" width="40" height="20" transform="rotate(45)" '
        'transform-origin="50 40"/>'
    ),
    "use of a shape": (
        '<defs><circle id="hub" r="12"/></defs><use href="#hub" x="30" y="40"/>'
        '<use xlink:href="#hub" transform="translate(70 60) scale(1.5)"/>'
    ),
    "symbol with its own view box": (
        '<symbol id="lamp" viewBox="0 0 10 10">'
        '<rect x="-5" width="20" height="5"/></symbol>'
        '<use href="#lamp" x="10" y="20" width="60" height="40"/>'
    ),
    "nested drawing": (
        '<svg x="10" y="10" width="50" height="80" viewBox="0 0 10 10">'
        '<circle cx="5" cy="5" r="8"/></svg>'
    ),
    "classes and rules": (
        "<style>/* seam */ .cab, .no{fill:#f00} g > rect.gone{display:none} "
        "#round{fill:none;stroke:#00f;stroke-width:6}</style>"
        '<g><rect class="cab" width="40" height="40"/>'
        '<rect class="gone" x="60" width="40" height="40"/></g>'
        '<circle id="round" cx="60" cy="70" r="20"/>'
    ),
    "inline style beats attribute": (
        '<rect width="60" height="60" fill="none" style="fill:#0a0;stroke:none"/>'
    ),
    "currentColor": (
        '<g color="#c00" fill="currentColor"><rect x="9" y="9" width="50" height="30"/></g>'
    ),
    "round caps and joins": (
        '<polyline points="20,70 50,20 80,70" fill="none" stroke="#222" stroke-width="14" '
        'stroke-linecap="round" stroke-linejoin="round"/>'
    ),
    "square caps and mitres": (
        '<polyline points="20,70 50,30 80,70" fill="none" stroke="#222" stroke-width="10" '
        'stroke-linecap="square"/>'
    ),
    "corner too sharp for its mitre": (
        '<polyline points="20,80 50,20 60,80" fill="none" stroke="#222" stroke-width="12" '
        'stroke-miterlimit="3"/>'
    ),
    "bevelled corners": (
        '<polygon points="20,80 50,20 80,80" fill="none" stroke="#222" stroke-width="16" '
        'stroke-linejoin="bevel"/>'
    ),
    "dashes": (
        '<path d="M10 50H90" stroke="#222" stroke-width="20" stroke-dasharray="15 5 5" '
        'stroke-dashoffset="7"/>'
    ),
    "stroke through a skewed frame": (
        '<circle cx="20" cy="20" r="12" fill="none" stroke="#222" stroke-width="5" '
        'transform="scale(3 1.5) skewX(20)"/>'
    ),
    "fill rule nonzero": (
        '<path d="M50 5L80 95L5 38H95L20 95Z"/>'
    ),
    "fill rule evenodd": (
        '<path fill-rule="evenodd" d="M50 5L80 95L5 38H95L20 95Z"/>'
    ),
    "window cut out by winding": (
        '<path d="M10 10H90V90H10ZM30 30V70H70V30Z"/>'
    ),
    "arcs with packed flags": (
        '<path d="M20 50a30 20 25 1160 0a5 5 0 00-9 9A30 20-25 0120 50z"/>'
    ),
    "smooth and quadratic curves": (
        '<path d="M10 80C40 10 65 10 95 80S50 95 50 60Q40 40 30 60T10 80z"/>'
    ),
    "rounded rectangle": '<rect x="10" y="20" width="70" height="40" rx="15" ry="30"/>',
    "rectangle with one radius": '<rect x="10" y="20" width="70" height="40" rx="9"/>',
    "clip path in user space": (
        '<clipPath id="c"><circle cx="50" cy="50" r="30"/></clipPath>'
        '<g clip-path="url(#c)" transform="translate(10 0)">'
        '<rect width="60" height="90"/></g>'
    ),
    "clip path by bounding box": (
        '<clipPath id="c" clipPathUnits="objectBoundingBox">'
        '<circle cx=".5" cy=".5" r=".4"/>'
        '</clipPath><rect x="10" y="20" width="80" height="50" clip-path="url(#c)"/>'
    ),
    "clip path inside a clip path": (
        '<clipPath id="a"><rect width="50" height="100"/></clipPath>'
        '<clipPath id="b" clip-path="url(#a)"><circle cx="50" cy="50" r="30"/></clipPath>'
        '<rect width="100" height="100" clip-path="url(#b)"/>'
    ),
    "clip path with a rule of its own": (
        '<clipPath id="c"><path clip-rule="evenodd" d="M10 10H90V90H10ZM30 30H70V70H30Z"/>'
        '</clipPath><rect width="100" height="100" clip-path="url(#c)"/>'
    ),
    "display none and visibility": (
        '<rect width="50" height="50"/><g display="none">'
        '<rect x="50" width="50" height="50"/>'
        '</g><rect y="50" width="50" height="50" visibility="hidden"/>'
    ),
    "units": '<rect x="2mm" y="10px" width="1cm" height="0.5in"/>',
    "percentages": '<rect x="10%" y="20%" width="50%" height="25%"/>',
    "switch": (
        '<switch><foreignObject requiredExtensions="x"/>'
        '<g><rect width="40" height="40"/></g>'
        "</switch>"
    ),
    "gradient": (
        '<linearGradient id="a"><stop offset="0" stop-color="#f00"/>'
        '<stop offset="1" stop-color="#00f"/></linearGradient>'
        '<linearGradient id="b" xlink:href="#a" gradientUnits="userSpaceOnUse" x1="10%" '
        'x2="90%" gradientTransform="rotate(20)"/>'
        '<rect x="10" y="10" width="80" height="60" fill="url(#b)" transform="scale(.9)"/>'
    ),
    "opacity": (
        '<g opacity="0.8"><rect width="50" height="80" fill="#f00" fill-opacity="0.9"/></g>'
        '<rect x="50" width="50" height="80" fill="rgba(0, 0, 255, 0.8)"/>'
    ),
}  # fmt: skip


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


@pytest.mark.parametrize(
    ("body", "word"),
    [
        ("<text>GO</text>", "convert text to outlines"),
        ('<image href="photo.png"/>', "image"),
        ('<mask id="m"/><rect width="5" height="5" mask="url(#m)"/>', "mask"),
        ('<filter id="f"/><rect width="5" height="5" filter="url(#f)"/>', "filter"),
        ('<path d="M0 0h9v9z m oops"/>', "mistake"),
        ('<use href="#gone"/>', "points to nothing"),
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
