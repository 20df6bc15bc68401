"""The verb that hands a plan on in open formats."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    pass

from panelbeater.cli.common import errors_in_one_line, progress, say
from panelbeater.cli.group import main

FORMATS = (
    "svg", "lottie", "gltf", "png", "apng", "gif", "mp4", "webm", "sheet-pdf",
    "exposure-pdf", "layers",
)  # fmt: skip
"""What `export --to` takes; spelt out here so that help need not load the room."""


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
    from panelbeater.handover import hand_over
    from panelbeater.reopen import open_plan

    with errors_in_one_line():
        with progress() as effort:
            folder = into or (out if out.is_dir() else out.parent)
            done = hand_over(
                open_plan(out), formats, folder,
                width_px=width, allow_flashing=allow_flashing, effort=effort,
            )  # fmt: skip
        if as_json:
            say(json.dumps(done.to_json()))
            return
        for one in done.done:
            say(f"{one.format}: {', '.join(str(path) for path in one.paths)}")
            for note in one.notes:
                say(f"note: {one.format}: {note}")
        if done.caution:
            say(done.caution)
