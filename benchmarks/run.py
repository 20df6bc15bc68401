"""Plans every vehicle x figure of a folder and prints one row a case.

    python benchmarks/run.py FOLDER [--only WORD] [--keep OUT]

Files are told apart by name: vehicle-*.svg and figure-*.svg. Times are wall seconds of this
machine; everything else is the judge's. Exit status 1 when a case crashes.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import sys
import time
import traceback
from pathlib import Path

from panelbeater.deliver import deliver, judge
from panelbeater.effort import Effort
from panelbeater.errors import PanelbeaterError
from panelbeater.scores import Scores
from panelbeater.shot import Request, plan_shot
from panelbeater.terms.timing import ShotOptions

COLUMNS = ("vehicle", "leak", "float", "clash", "pop", "landing", "budget", "ground")
SCORES = (
    "coverage",
    "own-region coverage",
    "spill",
    "overlap",
    "kept vehicle",
    "bend test, mean",
)


def main() -> int:
    """Parse, run, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--only", default="", help="part of the vehicle's or figure's name")
    parser.add_argument("--keep", type=Path, help="write every plan below this folder")
    parser.add_argument("--budget", type=float, default=1.0)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    head = ["case", "pieces", *COLUMNS, *SCORES, "gap", "short", "seconds"]
    print(" | ".join(head))
    rows: list[dict[str, float]] = []
    crashed = 0
    for vehicle in sorted(options.folder.glob("vehicle-*.svg")):
        for figure in sorted(options.folder.glob("figure-*.svg")):
            name = f"{_short(vehicle)} x {_short(figure)}"
            if options.only not in name:
                continue
            try:
                rows.append(_row(name, vehicle, figure, options))
            except PanelbeaterError as error:
                print(f"{name} | {error}")
            except Exception:
                crashed += 1
                print(f"{name} | CRASHED\n{traceback.format_exc()}")
            sys.stdout.flush()
    if rows:
        _summary(rows)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:.0f} MiB, {crashed} crashed, seed {options.seed}, "
          f"budget {options.budget}")  # fmt: skip
    return 1 if crashed else 0


def _short(path: Path) -> str:
    return path.stem.split("__")[-1]


def _row(
    name: str, vehicle: Path, figure: Path, options: argparse.Namespace
) -> dict[str, float]:
    shot = ShotOptions(title=name, seed=options.seed, budget=options.budget)
    begun = time.perf_counter()
    plan = plan_shot(Request(vehicle, figure, shot=shot), Effort())
    scores: Scores
    if options.keep:
        scores = deliver(plan, options.keep / name.replace(" ", "_"))
    else:
        scores = judge(plan)
    seconds = time.perf_counter() - begun
    promises = {promise.name: promise for promise in scores.promises}
    layout = {score.name: score.value for score in scores.layout}
    cells, row = [name, str(len(plan.rig.drawing.pieces))], {}
    for column in COLUMNS:
        promise = promises["vehicle error" if column == "vehicle" else column]
        cells.append(f"{promise.value:.2g}" + ("" if promise.kept else "!"))
        row[column] = float(promise.kept)
    for column in SCORES:
        cells.append(f"{layout[column]:.3f}")
        row[column] = layout[column]
    row["seconds"] = seconds
    cells += [
        f"{plan.assignment.gap:.3f}",
        f"{plan.rig.fold.shortest:.2f}",
        f"{seconds:.1f}",
    ]
    print(" | ".join(cells))
    return row


def _summary(rows: list[dict[str, float]]) -> None:
    for column in (*SCORES, "seconds"):
        values = [row[column] for row in rows]
        print(f"{column}: median {statistics.median(values):.3f}, "
              f"worst {min(values):.3f}, highest {max(values):.3f}")  # fmt: skip
    for column in COLUMNS:
        print(f"{column}: kept in {sum(row[column] for row in rows):.0f} of {len(rows)}")


if __name__ == "__main__":
    sys.exit(main())
