"""The benchmark drawings are ten vehicles and five figures that read without a word."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

import panelbeater
from benchmarks.cases.drawn import drawings
from panelbeater.drawing import read_drawing
from panelbeater.figure import read_figure

CASES = Path(__file__).parents[2] / "benchmarks" / "cases"
DEMO = panelbeater.demo_drawings()[0].parent
with (CASES / "own.csv").open(encoding="utf-8", newline="") as file:
    ROWS = list(csv.DictReader(file))
NEW = sorted(drawings())


def place(drawing: str) -> Path:
    return DEMO.parent / drawing if drawing.startswith("demo/") else CASES / drawing


def test_there_are_ten_vehicles_and_five_figures() -> None:
    kinds = [row["kind"] for row in ROWS]
    assert (kinds.count("vehicle"), kinds.count("figure")) == (10, 5)
    assert len({row["name"] for row in ROWS}) == len(ROWS)
    for row in ROWS:
        assert place(row["drawing"]).is_file(), row["drawing"]
        assert len(row["hard"].split()) >= 15, f"{row['name']}: what is hard about it?"


@pytest.mark.parametrize("name", NEW)
def test_a_kept_drawing_is_what_the_pen_draws(name: str) -> None:
    assert (CASES / name).read_text(encoding="utf-8") == drawings()[name]
    assert (CASES / name).stat().st_size <= 25_000


@pytest.mark.parametrize("name", [name for name in NEW if name.startswith("vehicles/")])
def test_a_vehicle_reads_as_twelve_to_sixty_named_pieces(name: str) -> None:
    drawing = read_drawing(CASES / name)
    assert drawing.warnings == ()
    assert 12 <= len(drawing.pieces) <= 60
    assert not [piece.id for piece in drawing.pieces if piece.id.startswith("path")]


@pytest.mark.parametrize("name", [name for name in NEW if name.startswith("figures/")])
def test_a_figure_reads_with_its_bones_and_regions(name: str) -> None:
    figure = read_figure(CASES / name)
    assert figure.warnings == ()
    assert len(figure.bones) == 15
    assert figure.silhouette.geom_type == "Polygon"
