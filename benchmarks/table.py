"""The table of a benchmark run: on the terminal, in a file, and beside a stored one."""

from __future__ import annotations

import csv
import math
import os
import platform
import re
import statistics
import subprocess
import time
from collections.abc import Iterable, Sequence
from pathlib import Path

from benchmarks.measure import Options, Row

SHOWN = {
    "pieces": "pieces", "promises kept": "kept", "coverage": "cover",
    "own-region coverage": "own", "gap": "gap", "least covered region": "least",
    "bend test, mean": "bend", "spill": "spill", "overlap": "overlap",
    "kept vehicle": "vehicle", "signature pieces kept": "signature",
    "bundles": "bundles", "tracking load": "load", "secrecy": "seen", "step": "step",
    "kink": "kink", "hold of the robot": "hold", "s": "s", "MiB": "MiB",
}  # fmt: skip
"""Fact to the head of its column; a file holds every fact."""
HIGHER_IS_BETTER = frozenset(
    {"promises kept", "coverage", "own-region coverage", "least covered region",
     "bend test, mean", "kept vehicle", "signature pieces kept", "hold of the robot"}
)  # fmt: skip
COMPARED = ("coverage", "own-region coverage", "spill", "kept vehicle", "bundles", "s")
Stored = dict[str, dict[str, float]]
"""Facts of each case by its name and way."""


def heading() -> str:
    """The heads of the columns."""
    return " | ".join([f"{'case':38}", *(head.rjust(6) for head in SHOWN.values())])


def line_of(row: Row) -> str:
    """One row of the table; a broken promise is named, a case without a plan says why."""
    name = row.case if row.way == "panelbeater" else f"    {row.way}"
    if row.said:
        return f"{name:38} | {row.said}"
    cells = [
        _cell(row.facts.get(fact), max(6, len(head))) for fact, head in SHOWN.items()
    ]  # fmt: skip
    broken = f" | BROKEN {', '.join(row.broken)}" if row.broken else ""
    return " | ".join([f"{name:38}", *cells]) + broken


def medians(rows: Sequence[Row]) -> list[str]:
    """Median, worst and best of every column over our own rows, then the promises."""
    planned = [row for row in rows if row.facts and row.way == "panelbeater"]
    if not planned:
        return ["nothing was planned"]
    out = []
    for fact in SHOWN:
        values = [row.facts[fact] for row in planned if fact in row.facts]
        if values:
            ends = (min(values), max(values))
            worst, best = ends if fact in HIGHER_IS_BETTER else ends[::-1]
            out.append(
                f"{fact}: median {statistics.median(values):.3g}, worst {worst:.3g}, "
                f"best {best:.3g}"
            )
    out.append(f"processor seconds by stage, medians: {_stages(planned)}")
    whole = sum(not row.broken for row in planned)
    out.append(f"every promise kept: {whole} of {len(planned)} plans")
    out += [f"{row.case}: {promise}" for row in planned for promise in row.broken]
    out += [f"{row.case}: no plan: {row.said}" for row in rows if row.said]
    return out


def _stages(planned: Sequence[Row]) -> str:
    names = dict.fromkeys(f for row in planned for f in row.facts if f.startswith("s "))
    spent = {
        name[2:]: statistics.median(row.facts.get(name, 0.0) for row in planned)
        for name in names
    }
    return ", ".join(f"{stage} {seconds:.1f}" for stage, seconds in spent.items())


def write_csv(path: Path, rows: Sequence[Row], options: Options) -> None:
    """Every fact of every row, with what the run was made by."""
    made = made_by(options)
    facts = sorted({fact for row in rows for fact in row.facts})
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["case", "source", "way", *facts, "broken", "said", *made])
        for row in rows:
            values = [f"{row.facts[f]:.6g}" if f in row.facts else "" for f in facts]
            writer.writerow(
                [row.case, row.source, row.way, *values, "; ".join(row.broken), row.said,
                 *made.values()]
            )  # fmt: skip


def read_csv(path: Path) -> Stored:
    """Facts of a stored run, by "case / way"."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {
        f"{row['case']} / {row['way']}": {
            key: float(value) for key, value in row.items() if _is_number(value)
        }
        for row in rows
    }


def changes(rows: Iterable[Row], stored: Stored) -> list[str]:
    """What moved by more than the last digit shown, case by case, then in the middle."""
    out: list[str] = []
    moved: dict[str, list[float]] = {fact: [] for fact in COMPARED}
    for row in rows:
        before = stored.get(f"{row.case} / {row.way}")
        if not before or not row.facts:
            continue
        told = []
        for fact in COMPARED:
            if fact in row.facts and fact in before:
                change = row.facts[fact] - before[fact]
                moved[fact].append(change)
                if abs(change) >= 0.0005:
                    told.append(f"{fact} {before[fact]:.3g} -> {row.facts[fact]:.3g}")
        if told:
            out.append(f"{row.case} ({row.way}): " + ", ".join(told))
    out += [
        f"median change of {fact}: {statistics.median(values):+.3g}"
        for fact, values in moved.items()
        if values
    ]
    return out or ["nothing to compare: none of these cases is in the stored run"]


def made_by(options: Options) -> dict[str, str]:
    """Day, commit, options and machine."""
    return {
        "date": time.strftime("%Y-%m-%d"),
        "commit": _commit(),
        "options": f"seed {options.seed}, budget {options.budget:g}, "
        f"{options.frames} frames",
        "machine": machine(),
    }


def machine() -> str:
    """Processor, cores, system and Python, in one line."""
    cpu = Path("/proc/cpuinfo")
    text = cpu.read_text(encoding="utf-8") if cpu.is_file() else ""
    found = re.search(r"model name\s*:\s*(.+)", text)
    name = found[1] if found else platform.machine()
    python = f"Python {platform.python_version()}"
    return f"{name}, {os.cpu_count()} cores, {platform.system()}, {python}"


def _commit() -> str:
    ran = subprocess.run(
        ["git", "describe", "--always", "--dirty"],
        cwd=Path(__file__).parent, capture_output=True, text=True, check=False,
    )  # fmt: skip
    return ran.stdout.strip() or "unknown"


def _cell(value: float | None, width: int) -> str:
    if value is None or not math.isfinite(value):
        return "-".rjust(width)
    text = f"{value:.0f}" if abs(value) >= 100 or value == int(value) else f"{value:.3f}"
    return text.rjust(width)


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
