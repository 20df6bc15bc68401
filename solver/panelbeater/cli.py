"""The command line; the only place that turns errors into exit statuses."""

from __future__ import annotations

import contextlib
import json
import signal
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from panelbeater import __version__
from panelbeater.effort import Effort
from panelbeater.errors import DrawingError, PanelbeaterError

if TYPE_CHECKING:
    from panelbeater.shot import Request

FORMATS = (
    "svg", "lottie", "gltf", "png", "apng", "gif", "mp4", "webm", "sheet-pdf",
    "exposure-pdf", "layers",
)  # fmt: skip
"""What `export --to` takes; spelt out here so that help need not load the room."""
_MOST_LINES = 50
_WIDEST_LINE = 1000
CAUTION = "Fast cuts and flashing can trigger seizures: look at the preview with care."


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="panelbeater")
def main() -> None:
    """Plan how a drawn vehicle unfolds into a standing robot, and hand over a rig.

    \b
    Look first:      panelbeater demo
    Your drawings:   panelbeater plan lorry.svg robot.svg -o lorry-plan
    Then edit lorry-plan/pieces.csv and plan again:
                     panelbeater plan lorry.svg robot.svg --pieces lorry-plan/pieces.csv
    Take it away:    panelbeater export lorry-plan --to lottie --to mp4

    \b
    Words completed with the Tab key, once a session or in your shell's start-up file:
    bash  eval "$(_PANELBEATER_COMPLETE=bash_source panelbeater)"
    zsh   eval "$(_PANELBEATER_COMPLETE=zsh_source panelbeater)"
    fish  _PANELBEATER_COMPLETE=fish_source panelbeater | source
    """


def _shot_options(command: Callable[..., None]) -> Callable[..., None]:
    """The options every planning command shares."""
    for option in reversed(
        [
            click.option(
                "--frames", type=click.IntRange(24, 1000), help="Length of the shot."
            ),
            click.option("--fps", type=click.IntRange(1, 120), help="Frames a second."),
            click.option(
                "--seed", type=click.IntRange(0, 2**31 - 1), help="Same seed, same plan."
            ),
            click.option(
                "--budget",
                type=click.FloatRange(0.01, 1000),
                help="Solver effort; 1 is a first look, 5 squeezes further.",
            ),
            click.option(
                "--json", "as_json", is_flag=True, help="Print the scores as JSON."
            ),
        ]
    ):
        command = option(command)
    return command


@main.command()
@click.argument("vehicle", type=click.Path(path_type=Path))
@click.argument("figure", required=False, type=click.Path(path_type=Path))
@click.option("--pieces", type=click.Path(path_type=Path), help="Edited piece list (CSV).")
@click.option("-o", "--out", type=click.Path(path_type=Path), help="Folder for the plan.")
@_shot_options
def plan(
    vehicle: Path,
    figure: Path | None,
    pieces: Path | None,
    out: Path | None,
    **options: Any,
) -> None:
    """Plan a shot from VEHICLE.svg and FIGURE.svg, or from a BRIEF.toml.

    \b
    panelbeater plan lorry.svg robot.svg
    panelbeater plan lorry.svg robot.svg --frames 96 --pieces lorry-plan/pieces.csv
    panelbeater plan brief.toml -o shot-12
    """
    with _errors_in_one_line():
        _run(
            _request(vehicle, figure, pieces, options),
            out or Path(f"{vehicle.stem}-plan"),
            options,
        )


@main.command()
@click.option("-o", "--out", type=click.Path(path_type=Path), default=Path("demo-plan"),
              show_default=True, help="Folder for the plans.")  # fmt: skip
@click.option(
    "--all", "all_shots", is_flag=True, help="Every bundled shot, not only the first."
)
@_shot_options
def demo(out: Path, *, all_shots: bool, **options: Any) -> None:
    """Plan the bundled harbour-yard shots: a crane lorry becomes a dock hand."""
    with _errors_in_one_line():
        briefs = sorted((Path(__file__).parent / "demo").glob("*.toml"))
        for brief in briefs if all_shots else briefs[:1]:
            _run(
                _request(brief, None, None, options),
                out / brief.stem if all_shots else out,
                options,
            )


@main.command()
@click.argument("vehicle", type=click.Path(path_type=Path))
@click.argument("figure", required=False, type=click.Path(path_type=Path))
@click.option("--pieces", type=click.Path(path_type=Path), help="Edited piece list (CSV).")
@click.option("-o", "--out", type=click.Path(path_type=Path), help="Folder for the plans.")
@click.option("-k", "--count", type=click.IntRange(1, 24), default=6, show_default=True,
              help="How many to offer.")  # fmt: skip
@_shot_options
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
    """
    from panelbeater.offer import offer_alternates

    with _errors_in_one_line():
        folder = out or Path(f"{vehicle.stem}-alternates")
        request = _request(vehicle, figure, pieces, options)
        with _progress() as effort:
            rows = offer_alternates(request, folder, n_alternates=count, effort=effort)
        if options["as_json"]:
            _say(json.dumps(rows))
        else:
            for row in rows:
                facts = ", ".join(f"{word} {value}" for word, value in row["facts"].items())
                _say(f"{row['number']}  {row['name']}: {facts}")
            if len(rows) < count:
                _say(f"no more than {len(rows)} differ in a fifth of their pieces")
            _say(f"\nLook at {folder / 'alternates.png'}, or {folder / 'alternates.html'}")
        if effort.is_stopped:
            raise SystemExit(130)


@main.command()
@click.argument("out", type=click.Path(path_type=Path, exists=True))
@click.option("--json", "as_json", is_flag=True, help="Print the scores as JSON.")
def check(out: Path, *, as_json: bool) -> None:
    """Judge a finished plan again, from OUT/frames.ndjson alone."""
    from panelbeater.scores import read_frames, score_shot

    with _errors_in_one_line():
        path = out / "frames.ndjson" if out.is_dir() else out
        scores = score_shot(read_frames(path))
        _say(json.dumps(scores.to_json()) if as_json else "\n".join(scores.lines()))


@main.command()
@click.argument("out", type=click.Path(path_type=Path, exists=True))
@click.option("--to", "formats", type=click.Choice(FORMATS), multiple=True, required=True,
              help="Give it several times for several formats.")  # fmt: skip
@click.option(
    "-o", "--into", type=click.Path(path_type=Path), help="Folder; else that of the plan."
)
@click.option("--width", type=click.IntRange(16, 4096), default=960, show_default=True,
              help="Pixels across, for pictures and videos.")  # fmt: skip
@click.option(
    "--allow-flashing", is_flag=True, help="Write a shot that fails the flash meter."
)
@click.option("--json", "as_json", is_flag=True, help="Print what was written as JSON.")
def export(
    out: Path,
    *,
    formats: tuple[str, ...],
    into: Path | None,
    width: int,
    allow_flashing: bool,
    as_json: bool,
) -> None:
    """Write the plan in OUT in open formats that other programs take.

    \b
    panelbeater export lorry-plan --to lottie --to svg
    panelbeater export lorry-plan --to png --width 1920
    panelbeater export lorry-plan --to mp4 --to webm -o for-the-web

    \b
    svg           shot-css.svg and shot-smil.svg, both play by themselves
    lottie        shot-lottie.json
    gltf          shot.glb: bones and pieces as nodes, one clip
    png           frames/frame-0001.png and on, see-through
    apng gif      shot.apng (see-through), shot.gif
    mp4 webm      shot.mp4, shot.webm; needs pip install 'panelbeater[video]'
    sheet-pdf     contact-sheet.pdf, one page to pin up
    exposure-pdf  exposure-sheet.pdf, a row a frame, a column a piece
    layers        layers-vehicle.svg and layers-robot.svg, with bones and pivots
    The two PDFs need pip install 'panelbeater[print]'.

    The flash meter looks at the shot first; one that fails is not written.
    """
    from panelbeater.deliver import open_plan
    from panelbeater.handover import hand_over

    with _errors_in_one_line():
        with _progress() as effort:
            folder = into or (out if out.is_dir() else out.parent)
            done = hand_over(
                open_plan(out), formats, folder,
                width_px=width, allow_flashing=allow_flashing, effort=effort,
            )  # fmt: skip
        if as_json:
            _say(json.dumps(done.to_json()))
            return
        for one in done.done:
            _say(f"{one.format}: {', '.join(str(path) for path in one.paths)}")
            for note in one.notes:
                _say(f"note: {one.format}: {note}")
        if done.caution:
            _say(done.caution)


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
    with _errors_in_one_line():
        from panelbeater.stress import open_case, report_json, stress_plan, write_report

        out = source if source.is_dir() else report or Path(f"{source.stem}-plan")
        with _progress() as effort:
            if source.suffix.lower() == ".toml":
                _plan_quietly(source, out, effort)
            found = stress_plan(open_case(out), workers=workers, effort=effort)
            page, values = write_report(found, report or out)
        if as_json:
            _say(json.dumps(report_json(found)))
        else:
            _say("\n".join(found.lines()))
            _say(f"\nOpen {page}; the same as data: {values}")
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
    """
    with _errors_in_one_line():
        from panelbeater.stress import compare_plans, comparison_json, write_comparison

        with _progress():
            found = compare_plans(outs)
            page, _ = write_comparison(found, report)
        if as_json:
            _say(json.dumps(comparison_json(found)))
        else:
            _say("\n".join(found.lines()))
            _say(f"\nOpen {page}")


@main.command()
def schema() -> None:
    """Print the JSON schema of plan.json."""
    from panelbeater.rig import plan_schema

    _say(json.dumps(plan_schema(), indent=1))


def _request(
    vehicle: Path, figure: Path | None, pieces: Path | None, options: dict[str, Any]
) -> Request:
    """Brief or two drawings, with the options of the command line on top."""
    from dataclasses import replace

    from panelbeater.brief import read_brief
    from panelbeater.shot import Request
    from panelbeater.terms.timing import ShotOptions

    if vehicle.suffix.lower() == ".toml":
        if figure is not None:
            raise DrawingError("a brief names its own figure; leave FIGURE out")
        request = read_brief(vehicle)
    elif figure is None:
        raise DrawingError(
            "give two drawings, VEHICLE.svg and FIGURE.svg, or one BRIEF.toml"
        )
    else:
        request = Request(vehicle, figure, shot=ShotOptions(title=vehicle.stem))
    if pieces is not None:
        request = replace(request, piece_list=pieces)
    given = {"n_frames": options["frames"], "fps": options["fps"], "seed": options["seed"],
             "budget": options["budget"]}  # fmt: skip
    shot = replace(request.shot, **{k: v for k, v in given.items() if v is not None})
    return replace(request, shot=shot)


def _run(request: Request, out: Path, options: dict[str, Any]) -> None:
    """Plan, judge and write; Ctrl-C once finishes with what there is."""
    from panelbeater.deliver import deliver, headlines, scores_json
    from panelbeater.shot import plan_shot

    with _progress() as effort:
        if out.exists() and not out.is_dir():
            raise DrawingError(f"{out}: is a file; name a folder with -o")
        result = plan_shot(request, effort)
        scores = deliver(result, out, effort, request.limits)
    if options["as_json"]:
        _say(json.dumps(scores_json(result, scores, request.limits)))
    else:
        _say("\n".join(headlines(result, scores)))
        for warning in scores_json(result, scores)["warnings"]:
            _say(f"note: {warning}")
        _say(
            f"\nLook at {out / 'contact-sheet.png'}, then open {out / 'preview.html'}\n"
            f"{CAUTION}"
        )
    if effort.is_stopped:
        raise SystemExit(130)


def _plan_quietly(brief: Path, out: Path, effort: Effort) -> None:
    """Plan a brief into a folder, without a word."""
    from panelbeater.brief import read_brief
    from panelbeater.deliver import deliver
    from panelbeater.shot import plan_shot

    request = read_brief(brief)
    deliver(plan_shot(request, effort), out, effort, request.limits)


@contextlib.contextmanager
def _progress() -> Iterator[Effort]:
    """A spinner where someone watches; silence where a program reads."""
    from rich.console import Console

    console = Console(stderr=True)
    status = console.status("starting")
    told = "finishing with the best so far (Ctrl-C again abandons it): "
    effort = Effort(note=lambda text: status.update(told * effort.is_stopped + text))
    previous = signal.getsignal(signal.SIGINT)

    def stop(_signal: int, _frame: object) -> None:
        if effort.is_stopped:
            raise KeyboardInterrupt
        # Nothing is printed here: the signal may come in the middle of another print.
        effort.stop.set()

    signal.signal(signal.SIGINT, stop)
    try:
        with status:
            yield effort
    finally:
        signal.signal(signal.SIGINT, previous)


@contextlib.contextmanager
def _errors_in_one_line() -> Iterator[None]:
    try:
        yield
    except PanelbeaterError as error:
        _complain(str(error))
        raise SystemExit(error.exit_status) from None
    except OSError as error:
        where = error.filename or "a file"
        _complain(
            f"{where}: {error.strerror or error}; nothing half-written is left, "
            "make room or choose another folder with -o"
        )
        raise SystemExit(2) from None
    except MemoryError:
        _complain("the drawings need more memory than there is; simplify them")
        raise SystemExit(2) from None
    except KeyboardInterrupt:
        click.echo("panelbeater: abandoned; nothing was written", err=True)
        raise SystemExit(130) from None


def _complain(text: str) -> None:
    """One line a problem; what strangers wrote cannot steer the terminal or fill it."""
    lines = text.splitlines()
    for at, line in enumerate(lines[:_MOST_LINES]):
        shown = "".join(c if c.isprintable() else " " for c in line)
        shown = shown if len(shown) <= _WIDEST_LINE else f"{shown[:_WIDEST_LINE]}..."
        click.echo(f"{'panelbeater: ' if at == 0 else ''}{shown}", err=True)
    if len(lines) > _MOST_LINES:
        click.echo(f"... and {len(lines) - _MOST_LINES} more like these", err=True)


def _say(text: str) -> None:
    click.echo(text)


if __name__ == "__main__":
    sys.exit(main())
