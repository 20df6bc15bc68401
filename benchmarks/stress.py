"""Stresses finished plans and prints one row a plan.

    python benchmarks/stress.py PLAN... [--workers 2]

PLAN is a folder that `panelbeater plan` or `benchmarks/run.py --keep` has written. Seconds
are wall seconds of this machine with the report written, processor seconds those of all
processes together, memory the largest single process; everything else is in stress.json.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
from pathlib import Path

from panelbeater.stress import open_case, stress_plan, write_report

COLUMNS = (
    "plan", "pieces", "frames", "reads vehicle", "turns at", "reads person", "ideas",
    "help", "best gain", "worst view", "seconds", "processor s", "MiB",
)  # fmt: skip


def main() -> int:
    """Parse, run, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("plans", type=Path, nargs="+")
    parser.add_argument("--workers", type=int, default=2)
    options = parser.parse_args()
    print(" | ".join(COLUMNS))
    for plan in options.plans:
        print(" | ".join(_row(plan, options.workers)), flush=True)
    return 0


def _row(plan: Path, workers: int) -> list[str]:
    began, spent = time.perf_counter(), _processor()
    report = stress_plan(open_case(plan), workers=workers)
    write_report(report, plan)
    seconds, processor = time.perf_counter() - began, _processor() - spent
    case, read = report.case, report.recognition
    last = case.plan.rig.shot.n_frames - 1
    first, final = read.readings[0].values(), read.readings[last].values()
    turns = "/".join("-" if t is None else str(t + 1) for t in read.turns.values())
    best = report.told(1)
    gain = best[0].gains[0] if best and best[0].gains else None
    told = f"{gain.score} {gain.before:.3g} -> {gain.after:.3g}" if gain else "-"
    view = min(report.views, key=lambda v: v.share)
    return [
        plan.name,
        str(len(case.plan.rig.drawing.pieces)),
        str(last + 1),
        f"{sum(r.as_vehicle for r in first)} of {len(first)}",
        turns,
        f"{sum(r.as_person for r in final)} of {len(final)}",
        str(len(report.advice)),
        str(len(report.told(99))),
        told,
        f"{view.name} {view.share:.0%}",
        f"{seconds:.1f}",
        f"{processor:.1f}",
        f"{_memory():.0f}",
    ]


def _processor() -> float:
    used = [resource.getrusage(k) for k in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(use.ru_utime + use.ru_stime for use in used)


def _memory() -> float:
    used = [resource.getrusage(k) for k in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return max(use.ru_maxrss for use in used) / 1024


if __name__ == "__main__":
    sys.exit(main())
