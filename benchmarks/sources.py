"""Which drawings the benchmarks plan, and where each comes from."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import panelbeater

HERE = Path(__file__).parent
DEMO = panelbeater.demo_drawings()[0].parent
CACHE = HERE / ".cache"
"""Drawings of other people, fetched by `benchmarks/corpus.py` and never committed."""


@dataclass(frozen=True, slots=True)
class Case:
    """One vehicle that gets up as one figure."""

    name: str
    vehicle: Path
    figure: Path
    source: str


MINUTE = ("generator_van x winch_operator", "tow_tractor x rigger")
"""One case with few large pieces, one with many: a minute of processor time together."""


def own_cases() -> list[Case]:
    """Ten vehicles of ours times five figures, vehicle by vehicle."""
    with (HERE / "cases" / "own.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return _crossed(
        [_own(row) for row in rows if row["kind"] == "vehicle"],
        [_own(row) for row in rows if row["kind"] == "figure"],
        "own",
    )


def corpus_cases() -> list[Case]:
    """Every fetched vehicle with one figure: its own, in turn, and those of the list.

    Empty until `python -m benchmarks.corpus` has filled the cache.
    """
    with (HERE / "cases" / "corpus.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if _cached(row).is_file()]
    figures = [row for row in rows if row["kind"] == "figure"]
    vehicles = [row for row in rows if row["kind"] == "vehicle"]
    return [
        Case(
            f"{row['name']} x {figures[k % len(figures)]['name']}",
            _cached(row),
            _cached(figures[k % len(figures)]),
            f"{row['package']}@{row['version']}",
        )
        for k, row in enumerate(vehicles)
        if figures
    ]


def folder_cases(folder: Path) -> list[Case]:
    """Every vehicle-*.svg with every figure-*.svg of a folder."""
    vehicles, figures = (
        _named(sorted(folder.glob(f"{kind}-*.svg"))) for kind in ("vehicle", "figure")
    )
    return _crossed(vehicles, figures, folder.name)


def one_each(cases: list[Case]) -> list[Case]:
    """Each vehicle once, the figures taken in turn: a tenth of the work, all the sorts."""
    vehicles = list(dict.fromkeys(case.vehicle for case in cases))
    figures = list(dict.fromkeys(case.figure for case in cases))
    return [
        case
        for case in cases
        if vehicles.index(case.vehicle) % len(figures) == figures.index(case.figure)
    ]


def slice_of(name: str) -> list[Case]:
    """`minute` for every change, `nightly` for ten minutes, `all` for a free machine."""
    own = own_cases()
    if name == "minute":
        return [case for case in own if case.name in MINUTE]
    if name == "nightly":
        return [*one_each(own), *corpus_cases()[::8]]
    return [*own, *corpus_cases()]


def _named(paths: list[Path]) -> list[tuple[str, Path]]:
    """The last part of each name, between double strokes; the last two where it recurs."""
    parts = [path.stem.split("__") for path in paths]
    last = [part[-1] for part in parts]
    return [
        (" ".join(part[-2:]) if last.count(part[-1]) > 1 else part[-1], path)
        for part, path in zip(parts, paths, strict=True)
    ]


def _crossed(
    vehicles: list[tuple[str, Path]], figures: list[tuple[str, Path]], source: str
) -> list[Case]:
    return [
        Case(f"{vehicle} x {figure}", at, on, source)
        for vehicle, at in vehicles
        for figure, on in figures
    ]


def _own(row: dict[str, str]) -> tuple[str, Path]:
    place = row["drawing"]
    top = DEMO.parent if place.startswith("demo/") else HERE / "cases"
    return row["name"], top / place


def _cached(row: dict[str, str]) -> Path:
    return CACHE / "drawings" / f"{row['kind']}-{row['name']}.svg"
