"""The contact sheet on paper: nine keys from vehicle to robot, one page to pin up."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from panelbeater.exports.compose import StillCamera, Window
from panelbeater.exports.keys import telling_frames
from panelbeater.exports.pdf import (
    EDGE_MM,
    PAGE_MM,
    QUIET,
    RULE,
    finish,
    foot,
    head,
    new_sheet,
    say,
)
from panelbeater.exports.words import facts, way
from panelbeater.terms.rig import Rig, Sample

KEYS, COLUMNS = 9, 3
GAP_MM, LABEL_MM, HEAD_MM, FOOT_MM = 4.0, 6.0, 17.0, 12.0
STILL_PX = 720
"""A cell is about 60 mm wide: 300 dots an inch."""


def key_boxes(window: Window, n_keys: int) -> list[tuple[float, float, float, float]]:
    """Left, top, width and height of each still on the page, mm; row by row."""
    rows = -(-KEYS // COLUMNS)
    room = PAGE_MM[1] - 2 * EDGE_MM - HEAD_MM - FOOT_MM
    wide = (PAGE_MM[0] - 2 * EDGE_MM - (COLUMNS - 1) * GAP_MM) / COLUMNS
    high = room / rows - LABEL_MM - GAP_MM
    scale = min(wide / window.width, high / window.height)
    width, height = scale * window.width, scale * window.height
    return [
        (
            EDGE_MM + (k % COLUMNS) * (wide + GAP_MM) + (wide - width) / 2,
            EDGE_MM + HEAD_MM + (k // COLUMNS) * (height + LABEL_MM + GAP_MM),
            width,
            height,
        )
        for k in range(n_keys)
    ]


def export_contact_pdf(
    rig: Rig, sample: Sample, path: Path, *, captions: Mapping[str, str], caution: str = ""
) -> None:
    """Write one A4 page: title, the nine telling frames, scores.

    `sample` holds one moment per frame; `captions` are short words and values in order.
    Raises DrawingError without the print extra, or on artwork that is not XML.
    """
    sheet = new_sheet(rig, path, f"Contact sheet, {way(rig)}")
    sheet.add_page()
    head(sheet, rig, facts(rig))
    camera = StillCamera(rig, sample)
    frames = telling_frames(rig, sample, KEYS)
    sheet.set_draw_color(*RULE)
    sheet.set_line_width(0.2)
    for frame, (x, y, width, height) in zip(
        frames, key_boxes(camera.window, len(frames)), strict=True
    ):
        still = camera.picture(frame, STILL_PX)
        alt = f"frame {frame + 1}"
        sheet.image(still, x, y, width, height, alt_text=alt)
        sheet.rect(x, y, width, height)
        say(sheet, alt, x, y + height + 4, size=8)
        master = f"master {rig.shot.master(frame):.3f}"
        say(sheet, master, x + width - 18, y + height + 4, size=8, colour=QUIET)
    scores = "    ".join(f"{word} {value}" for word, value in captions.items())
    foot(sheet, scores, caution)
    finish(sheet, path)
