"""What the strains mean at the drawing board: how long, on ones or twos, what overlap."""

from __future__ import annotations

from panelbeater.stress.html import short
from panelbeater.stress.report import Report
from panelbeater.stress.robust import Row

LOAD = "tracking load"


def found_under_strain(report: Report) -> list[str]:
    """One plain sentence for each thing the strains found; none where none was tried."""
    by_group: dict[str, list[Row]] = {}
    for row in report.rows:
        by_group.setdefault(row.strain.group, []).append(row)
    found = [
        _length(report, by_group.get("length", [])),
        _exposure(report, by_group.get("exposure", [])),
        _broken(
            by_group.get("redraw", []),
            "It may be {}: every promise is kept.",
            "Let pieces overlap where they meet: {}, the plan breaks {}.",
        ),
        *(_build(report, row) for row in by_group.get("figure", []) if not row.failed),
    ]
    return [line for line in found if line]


def _length(report: Report, rows: list[Row]) -> str:
    """The shortest length tried at which the eye can follow."""
    lengths = {row.strain.trials[0].frames: row for row in rows if not row.failed}
    if not lengths or LOAD not in report.figures.on_target:
        return ""
    own = report.case.plan.rig.shot.n_frames
    fine = [n for n, row in lengths.items() if row.cells[LOAD].is_hit and not row.broken]
    fine += [own] if report.figures.on_target[LOAD] else []
    tried = ", ".join(str(n) for n in sorted([*lengths, own]))
    if not fine:
        return f"No length tried lets the eye follow ({tried} frames)."
    return f"The eye can follow from {min(fine)} frames on (tried: {tried})."


def _exposure(report: Report, rows: list[Row]) -> str:
    """Whether drawings may be held longer, by the step from drawing to drawing."""
    rows = [row for row in rows if "step" in row.cells]
    if not rows or not report.figures.on_target.get("step", False):
        return ""
    fine = [row.strain.name for row in rows if row.cells["step"].is_hit and not row.broken]
    if fine:
        return f"It reads {' and '.join(fine)}, too."
    worst = min(rows, key=lambda row: row.cells["step"].worst)
    step = short(worst.cells["step"].worst)
    return (
        f"Do not hold its drawings: {worst.strain.name} pieces jump {step} of their size."
    )


def _build(report: Report, row: Row) -> str:
    """Whether the armour fits figures of another build, folded into the same vehicle."""
    own, n_draws = report.case.plan.rig.fold.shortest, len(row.strain.trials)
    fold = f"the shortest limb at {row.shortest:.0%} of its length ({own:.0%} here)"
    if not row.broken:
        return (
            f"It fits other builds: {n_draws} figures of {row.strain.name} fold into it, "
            f"{fold}, and keep every promise."
        )
    breaks = "breaks" if row.draws_broken == 1 else "break"
    return (
        f"Of {n_draws} figures of {row.strain.name}, folded into it with {fold}, "
        f"{row.draws_broken} {breaks} {' and '.join(row.broken)}."
    )


def _broken(rows: list[Row], kept: str, broken: str) -> str:
    """Up to where all promises are kept, or from where which of them break."""
    for row in rows:
        if row.broken:
            return broken.format(row.strain.name, " and ".join(row.broken))
    return kept.format(rows[-1].strain.name) if rows else ""
