"""How time grows with pieces, frames and corners: one plot and the fitted exponents.

    python -m benchmarks.growth [--quick] [--csv FILE] [--picture FILE]

The vehicle is a barge of equal boxes, the same silhouette however many; only what is
counted changes. Seconds are processor time, charged to stages as in benchmarks/run.py. An
exponent of 1 means twice the work for twice as many, 2 four times; it is fitted to the
logarithms of the larger half, where what grows fastest shows.
"""

from __future__ import annotations

import argparse
import csv
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from benchmarks.measure import Options, Row, measure
from benchmarks.plot import draw_growth, fitted
from benchmarks.sources import DEMO, Case

FIGURE = DEMO / "dock_hand.svg"
SERIES = {
    "pieces": (15, 30, 60, 120, 240),
    "frames": (24, 48, 96, 192, 288),
    "corners": (16, 32, 64, 128, 256, 512),
}
QUICK = {"pieces": (15, 30), "frames": (24, 48), "corners": (16, 64)}
WIDE, TALL = 720, 300
COLOURS = ("#2f4475", "#f0752b", "#229a95", "#d9453c", "#f8c63d", "#7a8794")


@dataclass(frozen=True, slots=True)
class Point:
    """One planned size."""

    series: str
    count: int
    row: Row


def main(arguments: list[str] | None = None) -> int:
    """Plan every size, print, and draw."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--quick", action="store_true", help="two small sizes each")
    parser.add_argument("--series", choices=tuple(SERIES), action="append")
    parser.add_argument("--sizes", type=int, nargs="+", help="only these of each series")
    parser.add_argument("--budget", type=float, default=0.2)
    parser.add_argument("--csv", type=Path)
    parser.add_argument("--picture", type=Path)
    asked = parser.parse_args(arguments)
    points: list[Point] = []
    with tempfile.TemporaryDirectory() as folder:
        for name, counts in (QUICK if asked.quick else SERIES).items():
            if asked.series and name not in asked.series:
                continue
            for count in counts:
                if asked.sizes and count not in asked.sizes:
                    continue
                points.append(_point(name, count, Path(folder), asked.budget))
                print(_told(points[-1]), flush=True)
                if asked.csv:
                    _write(asked.csv, points)
    for name in dict.fromkeys(point.series for point in points):
        print(f"{name}: {_exponents(points, name)}")
    if asked.picture:
        _draw(points, asked.picture)
    return 1 if any(point.row.crashed for point in points) else 0


def barge(n_pieces: int, n_corners: int) -> str:
    """Boxes in rows on one silhouette, each with a wavy outline of so many corners.

    Neighbours share their waves, so that the boxes tile however fine they are drawn.
    """
    n_rows = max(2, round((n_pieces * TALL / WIDE) ** 0.5))
    counts = [n_pieces // n_rows + (k < n_pieces % n_rows) for k in range(n_rows)]
    tall = TALL / n_rows
    boxes = []
    for row, count in enumerate(counts):
        wide = WIDE / count
        for k in range(count):
            points = _wavy(40 + k * wide, 60 + row * tall, wide, tall, n_corners)
            path = "L".join(f"{x:.2f} {y:.2f}" for x, y in points)
            fill = COLOURS[(k + 2 * row) % len(COLOURS)]
            boxes.append(f'<path id="box_{row + 1}_{k + 1}" fill="{fill}" d="M{path}z"/>')
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE + 80} {TALL + 120}">'
        + "".join(boxes)
        + "</svg>"
    )


def _wavy(
    x: float, y: float, wide: float, tall: float, n_corners: int
) -> list[tuple[float, float]]:
    """A box whose level edges rise and fall a little; upright edges are straight."""
    n = max(2, n_corners // 2)
    along = np.linspace(0, 1, n)
    wave = 0.03 * TALL / 8 * np.sin(2 * np.pi * along)  # nothing at both ends
    top = [(x + wide * t, y + w) for t, w in zip(along, wave, strict=True)]
    low = [(x + wide * t, y + tall + w) for t, w in zip(along, wave, strict=True)]
    return [*top, *reversed(low)]


def _point(series: str, count: int, folder: Path, budget: float) -> Point:
    n_pieces = count if series == "pieces" else 24
    n_corners = count if series == "corners" else 16
    vehicle = folder / f"{series}-{count}.svg"
    vehicle.write_text(barge(n_pieces, n_corners), encoding="utf-8")
    case = Case(f"{count} {series}", vehicle, FIGURE, "grown")
    frames = count if series == "frames" else 72
    return Point(series, count, measure(case, Options(budget=budget, frames=frames))[0])


def _told(point: Point) -> str:
    row = point.row
    if row.said:
        return f"{row.case}: {row.said}"
    spent = {k[2:]: v for k, v in row.facts.items() if k.startswith("s ")}
    parts = ", ".join(f"{stage} {seconds:.1f}" for stage, seconds in spent.items())
    broken = f"; BROKEN {', '.join(row.broken)}" if row.broken else ""
    return (
        f"{row.case}: {row.facts['s']:.1f} s ({parts}), {row.facts['MiB']:.0f} MiB{broken}"
    )


def _stages(
    points: Sequence[Point], series: str
) -> tuple[list[float], dict[str, list[float]]]:
    mine = [p for p in points if p.series == series and not p.row.said]
    names = dict.fromkeys(
        name for p in mine for name in p.row.facts if name.startswith("s")
    )
    wanted = [name for name in names if name == "s" or name.startswith("s ")]
    counts = [float(p.count) for p in mine]
    return counts, {
        (name[2:] or "all"): [p.row.facts.get(name, 0.0) for p in mine] for name in wanted
    }


def _exponents(points: Sequence[Point], series: str) -> str:
    counts, stages = _stages(points, series)
    if len(counts) < 2:
        return "too few sizes planned"
    heavy = {
        k: v for k, v in stages.items() if k == "all" or max(v) > 0.05 * max(stages["all"])
    }
    return ", ".join(f"{name} {fitted(counts, spent):.2f}" for name, spent in heavy.items())


def _write(path: Path, points: Sequence[Point]) -> None:
    names = sorted(
        {name for p in points for name in p.row.facts if name[:2] in ("s", "s ")}
    )
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["series", "count", "pieces", *names, "MiB", "broken", "said"])
        for p in points:
            facts = [
                f"{p.row.facts.get(name, 0):.4g}" for name in ("pieces", *names, "MiB")
            ]
            writer.writerow(
                [p.series, p.count, *facts, "; ".join(p.row.broken), p.row.said]
            )


def _draw(points: Sequence[Point], path: Path) -> None:
    series = dict.fromkeys(point.series for point in points)
    draw_growth({name: _stages(points, name) for name in series}, path)


if __name__ == "__main__":
    sys.exit(main())
