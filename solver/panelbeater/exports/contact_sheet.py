"""The contact sheet: nine keys from vehicle to robot on one page, large enough to judge."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from panelbeater.exports.compose import StillCamera
from panelbeater.exports.files import write_whole
from panelbeater.exports.keys import telling_frames
from panelbeater.exports.words import FLASH_CAUTION, way
from panelbeater.terms.rig import Rig, Sample

CELL_PX = 472
GAP_PX = 16
EDGE_PX = 36
LABEL_PX = 40
HEAD_PX = 128
SHEET_PX = 4 * CELL_PX + 3 * GAP_PX + 2 * EDGE_PX
SMALL_CELLS = ((0, 0), (1, 0), (2, 0), (3, 0), (0, 1), (1, 1), (0, 2), (1, 2))
"""Column and row of the first eight keys; the robot fills the four cells left over."""
PAGE = "#dedacf"
INK = "#22282d"
QUIET = "#55594f"
RULE = "#b3ad9d"


def export_contact_sheet(
    rig: Rig, sample: Sample, path: Path, *, captions: Mapping[str, str]
) -> None:
    """Write contact-sheet.png, 2008 px wide: title, nine keys, scores and the caution.

    `sample` holds one moment per frame. `captions` are short words and values, shown in
    order ("coverage": "0.83").
    """
    camera = StillCamera(rig, sample)
    frames = telling_frames(rig, sample, len(SMALL_CELLS) + 1)
    height = round(CELL_PX * camera.window.height / camera.window.width)
    row_px = height + LABEL_PX + GAP_PX
    foot = _caption_lines(captions)
    bottom = HEAD_PX + 3 * row_px + GAP_PX
    sheet = Image.new("RGB", (SHEET_PX, bottom + 44 * len(foot) + 64), PAGE)
    pen = ImageDraw.Draw(sheet)
    _write_head(pen, rig)
    for frame, (column, row) in zip(frames[:-1], SMALL_CELLS, strict=False):
        x = EDGE_PX + column * (CELL_PX + GAP_PX)
        _place(sheet, camera, frame, (x, HEAD_PX + row * row_px), (CELL_PX, height), rig)
    wide = 2 * CELL_PX + GAP_PX
    corner = (EDGE_PX + wide + GAP_PX, HEAD_PX + row_px)
    _place(sheet, camera, frames[-1], corner, (wide, 2 * row_px - GAP_PX - LABEL_PX), rig)
    _write_foot(pen, foot, bottom)
    stream = io.BytesIO()
    sheet.save(stream, "PNG", optimize=True)
    write_whole(path, [stream.getvalue()])


def _font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    # The face that travels inside the imaging library looks the same on every machine.
    return ImageFont.load_default(size)


def _write_head(pen: ImageDraw.ImageDraw, rig: Rig) -> None:
    shot = rig.shot
    length = f"{shot.n_frames} frames at {shot.fps} a second"
    held = "on ones" if shot.exposure == 1 else f"each held {shot.exposure} frames"
    facts = f"{len(rig.drawing.pieces)} pieces   |   {length}, {held}"
    pen.text((EDGE_PX, 34), _fitted(pen, shot.title, 44, 1200), fill=INK, font=_font(44))
    pen.text((EDGE_PX, 88), facts, fill=QUIET, font=_font(24))
    pen.text(
        (SHEET_PX - EDGE_PX, 88),
        way(rig),
        fill=QUIET,
        font=_font(24),
        anchor="ra",
    )


def _fitted(pen: ImageDraw.ImageDraw, text: str, size: int, width_px: int) -> str:
    while len(text) > 1 and pen.textlength(text, font=_font(size)) > width_px:
        text = text[:-2].rstrip() + "."
    return text


def _place(
    sheet: Image.Image,
    camera: StillCamera,
    frame: int,
    corner: tuple[int, int],
    size: tuple[int, int],
    rig: Rig,
) -> None:
    x, y = corner
    width, height = size
    window = camera.window
    still_px = min(width, round(height * window.width / window.height))
    still = camera.picture(frame, still_px)
    paper = Image.new("RGB", size, still.getpixel((0, 0)))
    paper.paste(still, ((width - still.width) // 2, (height - still.height) // 2))
    sheet.paste(paper, corner)
    pen = ImageDraw.Draw(sheet)
    pen.rectangle((x, y, x + width - 1, y + height - 1), outline=RULE, width=2)
    pen.text((x + 2, y + height + 8), f"frame {frame + 1}", fill=INK, font=_font(24))
    master = f"master {rig.shot.master(frame):.3f}"
    pen.text(
        (x + width - 2, y + height + 8), master, fill=QUIET, font=_font(24), anchor="ra"
    )


def _caption_lines(captions: Mapping[str, str]) -> list[list[tuple[str, str]]]:
    """Captions set out in rows that fit the sheet."""
    lines: list[list[tuple[str, str]]] = []
    room = 0.0
    for word, value in captions.items():
        need = _font(26).getlength(f"{word} {value}") + 56
        if not lines or need > room:
            lines.append([])
            room = SHEET_PX - 2 * EDGE_PX
        lines[-1].append((word, value))
        room -= need
    return lines


def _write_foot(
    pen: ImageDraw.ImageDraw, lines: list[list[tuple[str, str]]], top: int
) -> None:
    pen.line((EDGE_PX, top - 10, SHEET_PX - EDGE_PX, top - 10), fill=RULE, width=2)
    for row, line in enumerate(lines):
        x = float(EDGE_PX)
        for word, value in line:
            pen.text((x, top + 8 + 44 * row), word, fill=QUIET, font=_font(26))
            x += _font(26).getlength(f"{word} ")
            pen.text((x, top + 8 + 44 * row), value, fill=INK, font=_font(26))
            x += _font(26).getlength(value) + 56
    at = (EDGE_PX, top + 44 * len(lines) + 16)
    pen.text(at, FLASH_CAUTION, fill=QUIET, font=_font(24))
