"""Sheets and layered drawings as programs that are not ours read them."""

from __future__ import annotations

import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser

from panelbeater.exports import export_exposure_pdf, export_layers, export_png_sequence
from tests.exports.proof.flat import VECTOR_BAR, Picture, Raster, flat_rig, prove
from tests.exports.proof.players import layers_player, needs_program
from tests.exports.small_rig import small_rig

FLIP = 12
FRAMES = (0, 6, FLIP, 16, 23)
RIG, SAMPLE = small_rig(order_changes=True)


@pytest.mark.browser
@pytest.mark.slow
def test_a_browser_shows_the_layers_of_each_state_in_order(
    browser: Browser, tmp_path: Path
) -> None:
    flat = flat_rig(RIG)
    raster = Raster.wide(flat, SAMPLE, 640)

    def shown(frame: int) -> Picture:
        path = tmp_path / f"layers-{frame}.svg"
        export_layers(flat, SAMPLE, path, frame=frame)
        return layers_player(browser, path, raster)

    prove(shown, raster, bar=VECTOR_BAR, frames=FRAMES, flip=FLIP)


@needs_program("pdftotext", "poppler-utils")
def test_the_printed_exposure_sheet_says_what_the_shot_is(tmp_path: Path) -> None:
    pytest.importorskip("fpdf", reason="fpdf2 is not installed: panelbeater[print]")
    path = tmp_path / "sheet.pdf"
    export_exposure_pdf(RIG, SAMPLE, path, caution="Mind the flashes.")
    read = ["pdftotext", "-layout", str(path), "-"]
    words = subprocess.run(read, check=True, capture_output=True, text=True).stdout
    said = (
        "Trolley stands up",
        "24 frames at 24 a second",
        "Mind the flashes.",
        "order: tub",
    )
    assert [text for text in said if text not in words] == []


@pytest.mark.parametrize("frame", [1, FLIP + 1, 24])
def test_every_picture_of_a_sequence_says_what_the_shot_is(
    tmp_path: Path, frame: int
) -> None:
    held = replace(RIG, shot=replace(RIG.shot, title="Größe"))
    export_png_sequence(held, SAMPLE, tmp_path, width_px=60, caution="Mind the flashes.")
    with Image.open(tmp_path / f"frame-{frame:04d}.png") as picture:
        said = picture.info
    assert said["Title"] == "Größe"
    assert "24 frames at 24 a second" in said["Description"]
    assert "Mind the flashes." in said["Description"]
