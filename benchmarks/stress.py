"""Stresses plans and prints a table: one row a case, in Markdown.

    python -m benchmarks.stress FOLDER [--each] [--ideas 4] [--budget 0.3] [--into FILE]
    python -m benchmarks.stress PLAN... --workers 2

FOLDER holds vehicle-*.svg and figure-*.svg, each pair is planned first; PLAN is a folder
that `panelbeater plan` has written. Seconds are processor time of all processes together,
of the report alone, and memory is the largest single process so far; everything else is
what the report says.
"""

from __future__ import annotations

import argparse
import resource
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from benchmarks.sources import folder_cases, one_each
from panelbeater.deliver import deliver
from panelbeater.errors import PanelbeaterError
from panelbeater.shot import Request, plan_shot
from panelbeater.stress import MOST_IDEAS, Report, open_case, stress_plan, write_report
from panelbeater.stress.html import short
from panelbeater.terms.timing import ShotOptions

COLUMNS = (
    "case", "pieces", "promises", "scores on target", "flash turns (7 fail)",
    "reads vehicle", "turns at", "reads person", "hardest sight", "strains that break",
    "load, own and worst", "ideas", "help: pieces, time", "best gain", "processor s", "MiB",
)  # fmt: skip


def main() -> int:
    """Parse, run, print."""
    asked = _parsed()
    head = [f"| {' | '.join(COLUMNS)} |", f"|{'---|' * len(COLUMNS)}"]
    put = ", ".join(asked.strain) if asked.strain else "all"
    effort = f"Budget {asked.budget:g}; strains: {put}; at most {asked.ideas} ideas."
    lines = [effort, ""]
    lines += head
    print(*head, sep="\n", flush=True)
    for name, folder in _plans(asked):
        try:
            line = _row(name, folder, asked)
        except PanelbeaterError as error:
            line = f"| {name} | {error} |"
        lines.append(line)
        print(line, flush=True)
        if asked.into:
            asked.into.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return 0


def _parsed() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--each", action="store_true", help="every vehicle once")
    parser.add_argument("--ideas", type=int, default=MOST_IDEAS, help="tried a case")
    parser.add_argument("--strain", action="append", help="only these, by name")
    parser.add_argument("--budget", type=float, default=1.0, help="of the plans")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--keep", type=Path, help="write plans and reports below here")
    parser.add_argument("--into", type=Path, help="write the table after each row")
    return parser.parse_args()


def _plans(asked: argparse.Namespace) -> Iterator[tuple[str, Path]]:
    """Name and folder of every plan, made now where only drawings are given."""
    for folder in asked.folders:
        if (folder / "plan.json").is_file():
            yield folder.name, folder
            continue
        cases = folder_cases(folder)
        first = one_each(cases)
        rest = [] if asked.each else [case for case in cases if case not in first]
        for case in (*first, *rest):
            name = f"{case.vehicle.stem} x {case.figure.stem}".replace("__", " ")
            shot = ShotOptions(title=name, budget=asked.budget)
            with tempfile.TemporaryDirectory() as spare:
                out = asked.keep / name if asked.keep else Path(spare)
                deliver(plan_shot(Request(case.vehicle, case.figure, shot=shot)), out)
                yield name, out


def _row(name: str, folder: Path, asked: argparse.Namespace) -> str:
    spent = _processor()
    report = stress_plan(
        open_case(folder),
        workers=asked.workers,
        most_ideas=asked.ideas,
        strains=asked.strain or None,
    )
    write_report(report, folder)
    spent = _processor() - spent
    cells = [name, *_facts(report), f"{spent:.1f}", f"{_memory():.0f}"]
    return f"| {' | '.join(cells)} |"


def _facts(report: Report) -> list[str]:
    case, read = report.case, report.recognition
    scores, last = case.scores, case.plan.rig.shot.n_frames - 1
    aimed = [s for s in (*scores.layout, *scores.motion) if s.target is not None]
    first, final = read.readings[0].values(), read.readings[last].values()
    best = report.told(1)
    gain = best[0].gains[0] if best and best[0].gains else None
    view = min(report.views, key=lambda v: v.share)
    loads = [row.cells["tracking load"].worst for row in report.rows
             if "tracking load" in row.cells]  # fmt: skip
    single = [a for a in report.told(99) if not a.idea.trial.parts]
    about_pieces = sum(bool(a.idea.trial.pieces) for a in single)
    own = report.figures.values.get("tracking load", 0.0)
    return [
        str(len(case.plan.rig.drawing.pieces)),
        f"{sum(p.kept for p in scores.promises)} of {len(scores.promises)}",
        f"{sum(s.on_target for s in aimed)} of {len(aimed)}",
        f"{report.flash.general.turns}, red {report.flash.red.turns}",
        f"{sum(r.as_vehicle for r in first)} of {len(first)}",
        "/".join("-" if t is None else str(t + 1) for t in read.turns.values()),
        f"{sum(r.as_person for r in final)} of {len(final)}",
        f"{view.name} {view.share:.0%}",
        ", ".join(row.strain.name for row in report.rows if row.broken) or "none",
        f"{own:.2f}, {max(loads, default=own):.2f}",
        str(len(report.advice)),
        f"{about_pieces}, {len(single) - about_pieces}",
        f"{gain.score} {short(gain.before)} -> {short(gain.after)}" if gain else "-",
    ]


def _processor() -> float:
    used = [resource.getrusage(k) for k in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(use.ru_utime + use.ru_stime for use in used)


def _memory() -> float:
    used = [resource.getrusage(k) for k in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return max(use.ru_maxrss for use in used) / 1024


if __name__ == "__main__":
    sys.exit(main())
