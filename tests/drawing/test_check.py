"""The second renderer sees what the reader reads, and opens nothing that a file names."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon, box

from panelbeater.svg.check import (
    mask_of,
    page_pixels,
    render_file,
    rendered,
    silhouette_match,
)
from tests.drawing.sheets import sheet

PAGE = (0.0, 0.0, 100.0, 50.0)


def _opacity(tmp_path: Path, body: str) -> np.ndarray:
    """(250, 500), of a page of 100 x 50."""
    return render_file(sheet(tmp_path, body), PAGE)[..., 3]


def test_a_page_is_compared_at_five_hundred_pixels_of_its_long_side() -> None:
    assert page_pixels(PAGE) == (500, 250)
    assert page_pixels((0, 0, 10, 40)) == (125, 500)
    assert page_pixels((0, 0, 1e6, 1)) == (500, 1)


def test_a_text_that_is_no_drawing_is_refused_in_one_line() -> None:
    with pytest.raises(ValueError, match=r"^[^\n]+$"):
        rendered("<svg")


def test_a_mask_counts_the_pixels_whose_middle_lies_inside() -> None:
    mask = mask_of(box(0, 0, 50, 10), PAGE)
    assert mask.shape == (250, 500)
    assert mask[:50, :250].all()
    assert mask.sum() == 50 * 250


def test_a_drawing_matches_its_own_outline_and_half_of_it_by_half(tmp_path: Path) -> None:
    path = sheet(tmp_path, '<rect x="20" y="10" width="40" height="20"/>')
    assert silhouette_match(path, box(20, 10, 60, 30), PAGE) == pytest.approx(1)
    assert silhouette_match(path, box(20, 10, 40, 30), PAGE) == pytest.approx(0.5)
    assert silhouette_match(path, box(60, 10, 80, 30), PAGE) == 0
    faint = sheet(tmp_path, '<rect x="20" y="10" width="40" height="20" opacity=".4"/>')
    assert silhouette_match(faint, box(20, 10, 60, 30), PAGE) == 0
    assert silhouette_match(faint, box(20, 10, 60, 30), PAGE, faintest=0.4) == 1
    assert silhouette_match(sheet(tmp_path, ""), Polygon(), PAGE) == 1


@pytest.mark.parametrize(
    "body",
    [
        '<image href="secret.png" x="0" y="0" width="100" height="50"/>',
        "<foreignObject width='100' height='50'><b>x</b></foreignObject>",
        "<script>1</script>",
        '<filter id="f"><feImage href="secret.png"/></filter>',
    ],
)
def test_what_the_reader_never_looks_into_is_not_painted_either(
    body: str, tmp_path: Path
) -> None:
    square = '<rect id="a" x="20" y="10" width="40" height="20"/>'
    assert np.array_equal(_opacity(tmp_path, body + square), _opacity(tmp_path, square))


@pytest.mark.parametrize(
    ("definition", "use"),
    [
        ('<filter id="f"><feFlood flood-opacity="0"/></filter>', 'filter="url(#f)"'),
        ('<mask id="m"><rect width="1" height="1"/></mask>', 'mask="url(#m)"'),
        (
            '<pattern id="p" width="9" height="9"><path d="M0 0h1v1z"/></pattern>',
            'fill="url(#p)"',
        ),
    ],
)
def test_filters_masks_and_patterns_hide_nothing_of_what_they_are_put_on(
    definition: str, use: str, tmp_path: Path
) -> None:
    body = f'{definition}<rect x="20" y="10" width="40" height="20" {use}/>'
    seen = _opacity(tmp_path, body)
    assert seen[50:150, 100:300].min() == 1
    assert seen.sum() == pytest.approx(100 * 200)
