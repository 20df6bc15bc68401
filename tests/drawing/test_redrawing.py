"""A second drawing of a piece is read beside its list and laid on the first."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from panelbeater.drawing import (
    apply_piece_list,
    cut_to_size,
    read_drawing,
    write_piece_list,
)
from panelbeater.errors import DrawingError
from panelbeater.exports.marks import read_artwork
from panelbeater.svg.outlines import Fineness
from panelbeater.terms.drawing import Drawing
from tests.drawing.sheets import sheet

LORRY = (
    '<rect id="door" x="10" y="20" width="80" height="40" fill="#c33"/>'
    '<circle id="wheel_a" cx="25" cy="60" r="12"/>'
)
PLATE = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 400 400"><defs>'
    '<linearGradient id="g"><stop offset="0" stop-color="#111"/>'
    '<stop offset="1" stop-color="#999"/></linearGradient></defs>'
    '<path d="M300 300h60v20h-60z" fill="url(#g)"/><circle cx="330" cy="310" r="4"/></svg>'
)


def listed(tmp_path: Path, cell: str = "art/plate.svg") -> Drawing:
    (tmp_path / "art").mkdir(exist_ok=True)
    (tmp_path / "art" / "plate.svg").write_text(PLATE)
    (tmp_path / "pieces.csv").write_text(f"piece,redrawn\ndoor,{cell}\n")
    drawing = read_drawing(sheet(tmp_path, LORRY))
    return apply_piece_list(drawing, tmp_path / "pieces.csv")


def test_the_second_drawing_keeps_its_size_and_lies_on_the_first(tmp_path: Path) -> None:
    door = next(piece for piece in listed(tmp_path).pieces if piece.id == "door")
    assert door.redrawn is not None
    assert door.worn.area == pytest.approx(60 * 20, rel=1e-3)
    assert door.worn.centroid.distance(door.outline.centroid) < 1e-3
    assert door.redrawn.colour != "#888888"


def test_its_artwork_and_gradient_are_carried_along(tmp_path: Path) -> None:
    drawing = listed(tmp_path)
    door = next(piece for piece in drawing.pieces if piece.id == "door")
    assert door.redrawn is not None
    art = type(door)("door", door.kind, door.worn, 0, door.redrawn.artwork)
    marks = read_artwork(type(drawing)((art,), drawing.silhouette, drawing.defs)).pieces[0]
    assert len(marks) == 2
    assert marks[0].gradient is not None
    painted = shapely.union_all([mark.area(Fineness.suited_to(100.0)) for mark in marks])
    assert painted.symmetric_difference(door.worn).area < 1e-2 * door.worn.area


def test_a_piece_with_two_drawings_is_not_cut(tmp_path: Path) -> None:
    listed(tmp_path)
    drawing = read_drawing(sheet(tmp_path, LORRY))
    few = cut_to_size(drawing, largest_area=500.0, longest=30.0, min_pieces=8,
                      piece_list=tmp_path / "pieces.csv")  # fmt: skip
    assert "door" in [piece.id for piece in few.pieces]


def test_the_list_written_again_names_the_same_file(tmp_path: Path) -> None:
    drawing = listed(tmp_path)
    (tmp_path / "out").mkdir()
    write_piece_list(drawing, tmp_path / "out" / "pieces.csv")
    assert "../art/plate.svg" in (tmp_path / "out" / "pieces.csv").read_text()
    again = apply_piece_list(
        read_drawing(sheet(tmp_path, LORRY)), tmp_path / "out" / "pieces.csv"
    )
    assert [p.worn.wkt for p in again.pieces] == [p.worn.wkt for p in drawing.pieces]


@pytest.mark.parametrize("cell", ["art/none.svg", "pieces.csv"])
def test_a_file_that_is_no_drawing_is_told_with_its_row(tmp_path: Path, cell: str) -> None:
    with pytest.raises(DrawingError, match=r"pieces.csv: line 2: door: redrawn: "):
        listed(tmp_path, cell)
