"""Plans the benchmark cases and prints one row a case.

    python -m benchmarks.run --slice minute
    python -m benchmarks.run --slice nightly --csv run.csv
    python -m benchmarks.run FOLDER --rivals

Each case has a process of its own; seconds are processor time, so that other work on the
machine does not count. Exit status 1 when a case crashes, breaks a hard promise, or ends
without a plan. benchmarks/README.md says more.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `python benchmarks/run.py`

from benchmarks.measure import Options, Row, measure
from benchmarks.rivals import RIVALS
from benchmarks.sources import Case, folder_cases, one_each, slice_of
from benchmarks.table import (
    changes,
    heading,
    line_of,
    made_by,
    medians,
    read_csv,
    write_csv,
)

BASELINE = Path(__file__).with_name("baseline.csv")


def main(arguments: list[str] | None = None) -> int:
    """Parse, run, print."""
    asked = _parsed(arguments)
    options = Options(
        seed=asked.seed, budget=asked.budget, frames=asked.frames, keep=asked.keep,
        rivals=tuple(RIVALS) if asked.rivals else (),
    )  # fmt: skip
    print("; ".join(made_by(options).values()))
    print(heading())
    rows: list[Row] = []
    for case in _cases(asked):
        done = measure(case, options)
        rows += done
        for row in done:
            print(line_of(row), flush=True)
        if asked.csv:
            write_csv(asked.csv, rows, options)
    print("", *medians(rows), sep="\n")
    if asked.against.is_file():
        print("", f"beside {asked.against.name}:", sep="\n")
        print(*changes(rows, read_csv(asked.against)), sep="\n")
    ours = [row for row in rows if row.way == "panelbeater"]
    return 1 if any(row.said or row.broken for row in ours) else 0


def _parsed(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folders", type=Path, nargs="*",
                        help="folders with vehicle-*.svg and figure-*.svg")  # fmt: skip
    parser.add_argument("--slice", choices=("minute", "nightly", "all"), default="")
    parser.add_argument(
        "--only", action="append", help="part of a case's name; may be said again"
    )
    parser.add_argument(
        "--each", action="store_true", help="every vehicle once, figures taken in turn"
    )
    parser.add_argument("--rivals", action="store_true",
                        help="plainer ways to do each stage, on the same work")  # fmt: skip
    parser.add_argument("--keep", type=Path, help="write every plan below this folder")
    parser.add_argument("--csv", type=Path, help="write every figure to this file")
    parser.add_argument("--against", type=Path, default=BASELINE, help="a stored run")
    parser.add_argument("--budget", type=float, default=1.0)
    parser.add_argument("--frames", type=int, default=72)
    parser.add_argument("--seed", type=int, default=1)
    return parser.parse_args(arguments)


def _cases(asked: argparse.Namespace) -> list[Case]:
    found = [case for folder in asked.folders for case in folder_cases(folder)]
    if asked.slice or not asked.folders:
        found = slice_of(asked.slice or "minute") + found
    if asked.each:
        found = one_each(found)
    words = asked.only or [""]
    return [case for case in found if any(word in case.name for word in words)]


if __name__ == "__main__":
    sys.exit(main())
