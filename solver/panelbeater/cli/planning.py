"""Verbs that plan: from drawings or a brief to a folder."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from panelbeater.errors import DrawingError, PanelbeaterError

if TYPE_CHECKING:
    from panelbeater.shot import Request

from panelbeater.cli.common import (
    CAUTION,
    errors_in_one_line,
    progress,
    request_of,
    say,
    shot_options,
    started_from,
)
from panelbeater.cli.group import main


@main.command()
@click.argument("vehicle", type=click.Path(path_type=Path))
@click.argument("figure", required=False, type=click.Path(path_type=Path))
@click.option("--pieces", type=click.Path(path_type=Path), help="Edited piece list (CSV).")
@click.option("-o", "--out", type=click.Path(path_type=Path), help="Folder for the plan.")
@click.option("--memory", type=click.FloatRange(0.1, 1000), metavar="GIB",
              help="Stop with the best so far before it needs more memory.")  # fmt: skip
@click.option("--from", "before", type=click.Path(path_type=Path, exists=True),
              help="An earlier plan: only what your wishes change moves.")  # fmt: skip
@shot_options
def plan(
    vehicle: Path,
    figure: Path | None,
    pieces: Path | None,
    out: Path | None,
    before: Path | None,
    memory: float | None,
    **options: Any,
) -> None:
    """Plan a shot from VEHICLE.svg and FIGURE.svg, or from a BRIEF.toml.

    \b
    panelbeater plan lorry.svg robot.svg
    panelbeater plan lorry.svg robot.svg --frames 96 --pieces lorry-plan/pieces.csv
    panelbeater plan brief.toml -o shot-12
    """
    with errors_in_one_line():
        request = request_of(vehicle, figure, pieces, options)
        if before is not None:
            request = started_from(request, before)
        run(request, out or Path(f"{vehicle.stem}-plan"), options, memory)


@main.command()
@click.option("-o", "--out", type=click.Path(path_type=Path), default=Path("demo-plan"),
              show_default=True, help="Folder for the plans.")  # fmt: skip
@click.option("--memory", type=click.FloatRange(0.1, 1000), metavar="GIB",
              help="Stop with the best so far before it needs more memory.")  # fmt: skip
@click.option(
    "--all", "all_shots", is_flag=True, help="Every bundled shot, not only the first."
)
@shot_options
def demo(out: Path, memory: float | None, *, all_shots: bool, **options: Any) -> None:
    """Plan the bundled harbour-yard shots: a crane lorry becomes a dock hand.

    \b
    panelbeater demo
    panelbeater demo -o out/demo --frames 48
    panelbeater demo --all
    """
    with errors_in_one_line():
        briefs = sorted((Path(__file__).parent.parent / "demo").glob("*.toml"))
        for brief in briefs if all_shots else briefs[:1]:
            run(
                request_of(brief, None, None, options),
                out / brief.stem if all_shots else out,
                options,
                memory,
            )


@main.command()
@click.argument("vehicle", type=click.Path(path_type=Path))
@click.argument("figure", required=False, type=click.Path(path_type=Path))
@click.option("--pieces", type=click.Path(path_type=Path), help="Edited piece list (CSV).")
@click.option("-o", "--out", type=click.Path(path_type=Path), help="Folder for the plans.")
@click.option("-k", "--count", type=click.IntRange(1, 24), default=6, show_default=True,
              help="How many to offer.")  # fmt: skip
@shot_options
def alternates(
    vehicle: Path,
    figure: Path | None,
    pieces: Path | None,
    out: Path | None,
    *,
    count: int,
    **options: Any,
) -> None:
    """Offer several different layouts side by side, each a full plan.

    \b
    panelbeater alternates lorry.svg robot.svg -k 4 -o ideas
    panelbeater alternates brief.toml
    """
    from panelbeater.offer import offer_alternates

    with errors_in_one_line():
        folder = out or Path(f"{vehicle.stem}-alternates")
        request = request_of(vehicle, figure, pieces, options)
        with progress() as effort:
            rows = offer_alternates(
                request,
                folder,
                n_alternates=count,
                effort=effort,
                allow_flashing=options["allow_flashing"],
            )
        if options["as_json"]:
            say(json.dumps(rows))
        else:
            for row in rows:
                facts = ", ".join(f"{word} {value}" for word, value in row["facts"].items())
                say(f"{row['number']}  {row['name']}: {facts}")
            if len(rows) < count:
                say(f"no more than {len(rows)} differ in a fifth of their pieces")
            say(f"\nLook at {folder / 'alternates.png'}, or {folder / 'alternates.html'}")
        if effort.is_stopped:
            raise SystemExit(130)


def run(
    request: Request, out: Path, options: dict[str, Any], memory: float | None = None
) -> None:
    """Plan, judge and write; Ctrl-C once finishes with what there is."""
    from panelbeater.keeping import plan_and_deliver

    with progress() as effort:
        if out.exists() and not out.is_dir():
            raise DrawingError(f"{out}: is a file; name a folder with -o")
        place = next(p for p in (out.absolute(), *out.absolute().parents) if p.exists())
        if not os.access(place, os.W_OK):  # told now, not after a minute of planning
            raise DrawingError(f"{place}: may not be written to; name a folder with -o")
        allowed = options["allow_flashing"]
        verdict = plan_and_deliver(
            request, out, effort, allow_flashing=allowed, memory_gib=memory
        )
    if options["as_json"]:
        say(json.dumps(verdict.scores))
    else:
        say("\n".join(verdict.lines))
        for warning in verdict.scores["warnings"]:
            say(f"note: {warning}")
        if verdict.went_on:
            say(f"note: went on from the best of an earlier, unfinished run in {out}")
        if verdict.scores["flash"]["fails"] and not allowed:
            say("note: preview.html and rig.svg show stills; --allow-flashing moves them")
        say(
            f"\nLook at {out / 'contact-sheet.png'}, then open {out / 'preview.html'}\n"
            f"{CAUTION}"
        )
    if verdict.cut_short:
        raise PanelbeaterError(
            f"{verdict.cut_short}; {out} holds the best plan before that, "
            "and the same command goes on from it"
        )
    if effort.is_stopped:
        raise SystemExit(130)
