"""Alternates side by side: one sheet to look at, and what the page needs to move them."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw, ImageFont

from panelbeater.exports.artwork import SVG
from panelbeater.exports.compose import StillCamera, Window, path_data, stage_window
from panelbeater.exports.contact_sheet import EDGE_PX, GAP_PX, INK, PAGE, QUIET, RULE
from panelbeater.exports.files import write_whole
from panelbeater.exports.looks import read_looks
from panelbeater.exports.rig_data import orders_data, pose_data, track_data
from panelbeater.exports.shot_data import own_outlines
from panelbeater.exports.words import FLASH_CAUTION
from panelbeater.terms.rig import Rig, Sample

CELL_PX = 620
GUTTER_PX = 40
LINE_PX = 34


@dataclass(frozen=True, slots=True, eq=False)
class Entry:
    """One alternate as it is shown: its name, its rig, and what is said of it."""

    number: int
    """From 1; the folder of its full plan, beside the sheet, is called by it."""
    name: str
    rig: Rig
    sample: Sample
    """One moment per frame."""
    facts: Mapping[str, str]
    """Short words and values, the same words in every entry."""


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """Alternates of one pair of drawings, as a page shows them around its own plan."""

    entries: Sequence[Entry]
    own: int
    """Which of the entries the page is about."""
    up: str = "../"
    """From the page to the folder of all plans."""
    is_open: bool = False
    """Whether all of them are seen at once when the page opens."""


def choice_data(choice: Choice, *, decimals: int) -> dict[str, Any]:
    """What the page's script reads; artwork and skeleton are those of its own plan."""
    plans = []
    for k, entry in enumerate(choice.entries):
        plan: dict[str, Any] = {
            "number": entry.number, "name": entry.name, "facts": dict(entry.facts),
        }  # fmt: skip
        if k != choice.own:
            plan |= {
                "page": f"{choice.up}{entry.number}/preview.html",
                "action": pose_data(entry.rig.action, decimals + 3),
                "orders": orders_data(entry.rig),
                "tracks": _tracks(entry.rig, decimals),
            }
        plans.append(plan)
    window = _common_window(choice.entries)
    return {
        "isOpen": choice.is_open,
        "window": [
            round(v, decimals) for v in (window.x, window.y, window.width, window.height)
        ],
        "plans": plans,
    }


def _tracks(rig: Rig, decimals: int) -> list[dict[str, Any]]:
    """Rides; a piece that bends brings artwork with corners enough to bend."""
    rides = [track_data(track, decimals=decimals) for track in rig.tracks]
    if all(track.bend is None for track in rig.tracks):
        return rides
    looks = read_looks(rig, decimals)
    for i, (piece, track) in enumerate(zip(rig.drawing.pieces, rig.tracks, strict=True)):
        if track.bend is None:
            continue
        own, worn = own_outlines(piece, track)
        drawings = (looks.first[i], looks.worn[i])
        art = looks.groups(i, decimals)
        defs = "".join(drawn.defs for drawn in drawings if drawn)
        rides[i] |= {
            "art": f'<svg xmlns="{SVG}">{art}<defs>{defs}</defs></svg>',
            "outline": path_data(own, decimals),
            "worn": path_data(worn, decimals),
        }
    return rides


def _common_window(entries: Sequence[Entry]) -> Window:
    """The part of the stage that holds every alternate, so that all have one size."""
    windows = [stage_window(entry.rig, entry.sample) for entry in entries]
    x, y = min(w.x for w in windows), min(w.y for w in windows)
    right = max(w.x + w.width for w in windows)
    return Window(x, y, right - x, max(w.y + w.height for w in windows) - y)


def export_alternates_sheet(entries: Sequence[Entry], path: Path, *, title: str) -> None:
    """Write the side-by-side sheet as PNG, two or three robots a row."""
    stills = [_robot(entry) for entry in entries]
    height = max(still.height for still in stills)
    text_px = LINE_PX * (len(entries[0].facts) + 1) + GAP_PX
    columns = 2 if len(entries) in (2, 4) else min(3, len(entries))
    n_rows = -(-len(entries) // columns)
    wide = columns * CELL_PX + (columns - 1) * GUTTER_PX + 2 * EDGE_PX
    tall = 120 + n_rows * (height + text_px + GAP_PX) + 60
    sheet = Image.new("RGB", (wide, tall), PAGE)
    pen = ImageDraw.Draw(sheet)
    pen.text((EDGE_PX, 34), title, fill=INK, font=_font(44))
    for k, (entry, still) in enumerate(zip(entries, stills, strict=True)):
        x = EDGE_PX + (k % columns) * (CELL_PX + GUTTER_PX)
        y = 120 + (k // columns) * (height + text_px + GAP_PX)
        sheet.paste(still, (x, y + height - still.height))
        pen.rectangle((x, y, x + CELL_PX - 1, y + height - 1), outline=RULE, width=2)
        pen.text(
            (x, y + height + 8), f"{entry.number}  {entry.name}", fill=INK, font=_font(28)
        )
        for line, (word, value) in enumerate(entry.facts.items(), 1):
            at = y + height + 10 + line * LINE_PX
            pen.text((x, at), word, fill=QUIET, font=_font(24))
            pen.text((x + CELL_PX, at), value, fill=INK, font=_font(24), anchor="ra")
    pen.text((EDGE_PX, tall - 48), FLASH_CAUTION, fill=QUIET, font=_font(22))
    stream = io.BytesIO()
    sheet.save(stream, "PNG", optimize=True)
    write_whole(path, [stream.getvalue()])


def _robot(entry: Entry) -> Image.Image:
    """The last frame as a picture."""
    camera = StillCamera(entry.rig, entry.sample)
    return camera.picture(len(entry.sample.stage_from_piece) - 1, CELL_PX)


def _font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size)
