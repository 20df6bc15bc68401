"""What a plan still breaks, as a sheet of pictures: frame, pieces at fault, place."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from panelbeater.exports.compose import LIT_EDGE, StillCamera, Window
from panelbeater.exports.files import write_whole
from panelbeater.terms.rig import Rig, Sample

CELL_PX = 640
GAP_PX = 20
LINE_PX = 26
N_COLUMNS = 3
N_SHOWN = 12
"""Pictures on the sheet; more of them are in words on the terminal."""
RING_PX = 26
PAGE = "#dedacf"
INK = "#22282d"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong."""

    words: str
    frame: int
    pieces: tuple[str, ...]
    at: tuple[float, float] | None
    """On the stage, drawing units; None where it is no place."""


def export_faults(rig: Rig, sample: Sample, path: Path, faults: Sequence[Fault]) -> None:
    """Write a sheet of the first faults; without any, an earlier one is taken away.

    `sample` holds one moment per frame.
    """
    if not faults:
        path.unlink(missing_ok=True)
        return
    camera = StillCamera(rig, sample)
    shown = faults[:N_SHOWN]
    font = ImageFont.load_default(20)
    cells = [_cell(camera, rig, fault, font) for fault in shown]
    rows = [cells[i : i + N_COLUMNS] for i in range(0, len(cells), N_COLUMNS)]
    heights = [max(cell.height for cell in row) + GAP_PX for row in rows]
    width = GAP_PX + min(len(cells), N_COLUMNS) * (CELL_PX + GAP_PX)
    sheet = Image.new("RGB", (width, sum(heights) + GAP_PX), PAGE)
    for r, row in enumerate(rows):
        for c, cell in enumerate(row):
            corner = (GAP_PX + c * (CELL_PX + GAP_PX), GAP_PX + sum(heights[:r]))
            sheet.paste(cell, corner)
    stream = io.BytesIO()
    sheet.save(stream, "PNG", optimize=True)
    write_whole(path, [stream.getvalue()])


def _cell(
    camera: StillCamera,
    rig: Rig,
    fault: Fault,
    font: ImageFont.FreeTypeFont | ImageFont.ImageFont,
) -> Image.Image:
    """One frame with the pieces at fault lit, a ring round the place, and the words."""
    names = [piece.id for piece in rig.drawing.pieces]
    lit = [names.index(name) for name in fault.pieces if name in names]
    still = camera.lit_picture(fault.frame, CELL_PX, lit)
    if fault.at is not None:
        x, y = _pixel(camera.window, still, fault.at)
        ring = (x - RING_PX, y - RING_PX, x + RING_PX, y + RING_PX)
        ImageDraw.Draw(still).ellipse(ring, outline=LIT_EDGE, width=3)
    lines = _wrapped(f"frame {fault.frame + 1}: {fault.words}", font)
    cell = Image.new("RGB", (CELL_PX, still.height + LINE_PX * len(lines) + 12), PAGE)
    cell.paste(still, (0, 0))
    pen = ImageDraw.Draw(cell)
    for i, line in enumerate(lines):
        pen.text((2, still.height + 6 + LINE_PX * i), line, fill=INK, font=font)
    return cell


def _pixel(
    window: Window, still: Image.Image, at: tuple[float, float]
) -> tuple[float, float]:
    return (
        (at[0] - window.x) / window.width * still.width,
        (at[1] - window.y) / window.height * still.height,
    )


def _wrapped(text: str, font: ImageFont.FreeTypeFont | ImageFont.ImageFont) -> list[str]:
    """Lines that fit under a picture; a single longer word stands alone."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and font.getlength(longer) > CELL_PX - 4:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines
