"""Verbs that look again at finished plans."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    pass

from panelbeater.cli.common import errors_in_one_line, plan_quietly, progress, say
from panelbeater.cli.group import main


@main.command()
@click.argument("out", type=click.Path(path_type=Path, exists=True))
@click.option("--json", "as_json", is_flag=True, help="Print the scores as JSON.")
def check(out: Path, *, as_json: bool) -> None:
    """Judge a finished plan again, from OUT/frames.ndjson alone.

    Of a folder, sizes allowed in its plan.json and limits changed in its brief hold.

    \b
    panelbeater check lorry-plan
    panelbeater check lorry-plan/frames.ndjson --json
    """
    from panelbeater.reopen import judge_again

    with errors_in_one_line():
        scores = judge_again(out)
        say(json.dumps(scores.to_json()) if as_json else "\n".join(scores.lines()))


@main.command()
@click.argument(
    "source", metavar="OUT-or-BRIEF", type=click.Path(path_type=Path, exists=True)
)
@click.option("-o", "--report", type=click.Path(path_type=Path),
              help="Folder for the report; else that of the plan.")  # fmt: skip
@click.option("--workers", type=click.IntRange(1, 64), default=2, show_default=True,
              help="Processes that try things out; more change nothing else.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print the report as JSON.")
def stress(source: Path, *, report: Path | None, workers: int, as_json: bool) -> None:
    """Will it read? Strain a plan, try out what would help, and say what to do next.

    \b
    panelbeater stress lorry-plan
    panelbeater stress brief.toml -o lorry-report
    """
    with errors_in_one_line():
        from panelbeater.stress import open_case, report_json, stress_plan, write_report

        out = source if source.is_dir() else report or Path(f"{source.stem}-plan")
        with progress() as effort:
            if source.suffix.lower() == ".toml":
                plan_quietly(source, out, effort)
            found = stress_plan(open_case(out), workers=workers, effort=effort)
            page, values = write_report(found, report or out)
        if as_json:
            say(json.dumps(report_json(found)))
        else:
            say("\n".join(found.lines()))
            say(f"\nOpen {page}; the same as data: {values}")
        if effort.is_stopped:
            raise SystemExit(130)


@main.command()
@click.argument("outs", metavar="OUT...", nargs=-1, required=True,
                type=click.Path(path_type=Path, exists=True))  # fmt: skip
@click.option("-o", "--report", type=click.Path(path_type=Path), default=Path("compared"),
              show_default=True, help="Folder for the comparison.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print the comparison as JSON.")
def compare(outs: tuple[Path, ...], *, report: Path, as_json: bool) -> None:
    """Set two or more plans side by side: what differs, and which is better.

    \b
    panelbeater compare lorry-plan lorry-plan-96-frames
    panelbeater compare ideas/1 ideas/2 ideas/3 -o ideas/compared --json
    """
    with errors_in_one_line():
        from panelbeater.stress import compare_plans, comparison_json, write_comparison

        with progress():
            found = compare_plans(outs)
            page, _ = write_comparison(found, report)
        if as_json:
            say(json.dumps(comparison_json(found)))
        else:
            say("\n".join(found.lines()))
            say(f"\nOpen {page}")


@main.command()
def schema() -> None:
    """Print the JSON schema of plan.json, for programs that read plans.

    \b
    panelbeater schema > plan-schema.json
    """
    from panelbeater.rig import plan_schema

    say(json.dumps(plan_schema(), indent=1))
