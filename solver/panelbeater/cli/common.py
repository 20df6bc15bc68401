"""What every command shares: options, progress, and errors in one line."""

from __future__ import annotations

import contextlib
import os
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from panelbeater.effort import Effort
from panelbeater.errors import DrawingError, PanelbeaterError

if TYPE_CHECKING:
    from panelbeater.shot import Request


_MOST_LINES = 50
_WIDEST_LINE = 1000
CAUTION = "Fast cuts and flashing can trigger seizures: look at the preview with care."


def shot_options(command: Callable[..., None]) -> Callable[..., None]:
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
                "--action",
                type=click.Choice(["rise", "crouch"]),
                help="How the body gets up: plainly, or over a low crouch.",
            ),
            click.option(
                "--reverse", is_flag=True, help="From robot to vehicle, on its own timing."
            ),
            click.option(
                "--only",
                type=click.Choice(["arm_l", "arm_r", "leg_l", "leg_r", "head"]),
                multiple=True,
                help="Open this limb alone; name it again for more.",
            ),
            click.option(
                "--json", "as_json", is_flag=True, help="Print the scores as JSON."
            ),
            click.option(
                "--allow-flashing",
                is_flag=True,
                help="Let a preview move that fails the flash meter.",
            ),
        ]
    ):
        command = option(command)
    return command


def request_of(
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
             "budget": options["budget"], "action": options["action"],
             "reverse": options["reverse"] or None,
             "only": tuple(dict.fromkeys(options["only"])) or None}  # fmt: skip
    shot = replace(request.shot, **{k: v for k, v in given.items() if v is not None})
    return replace(request, shot=shot)


def started_from(request: Request, before: Path) -> Request:
    """The request, with an earlier plan to start from."""
    from dataclasses import replace

    from panelbeater.reopen import open_plan

    return replace(request, before=open_plan(before))


def plan_quietly(brief: Path, out: Path, effort: Effort) -> None:
    """Plan a brief into a folder, without a word."""
    from panelbeater.brief import read_brief
    from panelbeater.deliver import deliver
    from panelbeater.shot import plan_shot

    request = read_brief(brief)
    deliver(plan_shot(request, effort), out, effort, request.limits)


@contextlib.contextmanager
def _hearing_ctrl_c(handler: Callable[[int, object], None]) -> Iterator[None]:
    previous = signal.getsignal(signal.SIGINT)
    signal.signal(signal.SIGINT, handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, previous)


@contextlib.contextmanager
def leaving_at_once() -> Iterator[None]:
    """Ctrl-C ends the process on the spot, where nothing is lost by it: a half-loaded
    library turns KeyboardInterrupt into an error of its own, or swallows it.
    """

    def leave(_signal: int, _frame: object) -> None:
        os.write(2, b"panelbeater: abandoned\n")
        os._exit(130)

    with _hearing_ctrl_c(leave):
        yield


@contextlib.contextmanager
def progress() -> Iterator[Effort]:
    """A spinner where someone watches; silence where a program reads."""
    from rich.console import Console

    console = Console(stderr=True)
    status = console.status("starting")
    told = "finishing with the best so far (Ctrl-C again abandons it): "
    effort = Effort(note=lambda text: status.update(told * effort.is_stopped + text))

    def stop(_signal: int, _frame: object) -> None:
        if effort.is_stopped:
            raise KeyboardInterrupt
        # Nothing is printed here: the signal may come in the middle of another print.
        effort.stop.set()

    with _hearing_ctrl_c(stop), status:
        yield effort


@contextlib.contextmanager
def errors_in_one_line() -> Iterator[None]:
    """Exit statuses instead of tracebacks, and one line a problem on standard error."""
    try:
        yield
    except PanelbeaterError as error:
        complain(str(error))
        raise SystemExit(error.exit_status) from None
    except BrokenPipeError:
        raise  # whoever read our output has seen enough: no fault, and click ends quietly
    except OSError as error:
        where = error.filename or "a file"
        complain(
            f"{where}: {error.strerror or error}; nothing half-written is left, "
            "make room or choose another folder with -o"
        )
        raise SystemExit(2) from None
    except MemoryError as error:
        complain(str(error) or "memory ran out; free some, or simplify the drawings")
        raise SystemExit(2) from None
    except KeyboardInterrupt as error:
        complain(f"abandoned; {str(error) or 'nothing was written'}")
        raise SystemExit(130) from None


def complain(text: str) -> None:
    """One line a problem; what strangers wrote cannot steer the terminal or fill it."""
    lines = text.splitlines()
    for at, line in enumerate(lines[:_MOST_LINES]):
        shown = "".join(c if c.isprintable() else " " for c in line)
        shown = shown if len(shown) <= _WIDEST_LINE else f"{shown[:_WIDEST_LINE]}..."
        click.echo(f"{'panelbeater: ' if at == 0 else ''}{shown}", err=True)
    if len(lines) > _MOST_LINES:
        click.echo(f"... and {len(lines) - _MOST_LINES} more like these", err=True)


def say(text: str) -> None:
    """Print what was asked for."""
    click.echo(text)
