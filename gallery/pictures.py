"""What the gallery scripts share: where pictures go, and how they are kept small."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

import numpy as np
from PIL import Image, ImageSequence
from playwright.sync_api import sync_playwright

import panelbeater
from panelbeater.exports import StillCamera
from panelbeater.scores import measure_flashes

PAPER = (241, 238, 230)
DEMO = panelbeater.demo_drawings()[0].parent
"""The bundled drawings of the harbour yard."""


def folder_of(script: str) -> Path:
    """`gallery/NN_name/` beside the script, or in the folder named on the command line."""
    home = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(script).parent
    folder = home / Path(script).stem
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def budget() -> float:
    """Solver effort: 1, or the second word on the command line."""
    return float(sys.argv[2]) if len(sys.argv) > 2 else 1.0


def camera_on(shot: panelbeater.Plan) -> StillCamera:
    """A camera that takes every whole frame in one window."""
    return StillCamera(shot.rig, shot.sample())


def side_by_side(*pictures: Image.Image, gap: int = 16) -> Image.Image:
    """Pictures in a row, feet on one line."""
    width = sum(p.width for p in pictures) + gap * (len(pictures) - 1)
    row = Image.new("RGB", (width, max(p.height for p in pictures)), (255, 255, 255))
    x = 0
    for picture in pictures:
        row.paste(picture, (x, row.height - picture.height))
        x += picture.width + gap
    return row


def keep(picture: Image.Image, path: Path, *, width: int = 900, colours: int = 96) -> None:
    """Save as a small PNG: no wider than `width`, few colours, as flat artwork allows."""
    if picture.width > width:
        height = round(picture.height * width / picture.width)
        picture = picture.resize((width, height), Image.Resampling.LANCZOS)
    few = picture.convert("RGB").quantize(
        colours, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE
    )
    few.save(path, optimize=True)
    print(path)


def flashes_in(path: Path) -> int:
    """Most flashes in any one second of a moving picture with even steps, as it plays."""
    stills, steps_ms = [], []
    with Image.open(path) as picture:
        small = (160, round(160 * picture.height / picture.width))
        for still in ImageSequence.Iterator(picture):  # in one pass: it cannot go back
            stills.append(np.asarray(still.convert("RGB").resize(small)))
            steps_ms.append(still.info["duration"])
    rate = 1000 / steps_ms[1]  # the first and the last still are held longer
    flash = measure_flashes(np.stack(stills), rate)
    return max(flash.general.flashes, flash.red.flashes)


def photograph(page: Path, path: Path, *, click: str = "", height: int = 800) -> None:
    """A page as a browser shows it, with one thing clicked; needs chromium."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"))
        view = browser.new_page(viewport={"width": 1100, "height": height})
        view.goto(page.resolve().as_uri())
        if click:
            view.click(click)
            view.wait_for_timeout(1900)  # a good half of the shot
        view.screenshot(path=path)
        browser.close()
    with Image.open(path) as shown:
        keep(shown, path, colours=128)
