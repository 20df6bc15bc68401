"""Alternates side by side: one sheet to look at, one page to choose from."""

from __future__ import annotations

import base64
import html
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from panelbeater.exports.compose import StillCamera
from panelbeater.exports.contact_sheet import EDGE_PX, GAP_PX, INK, PAGE, QUIET, RULE
from panelbeater.exports.files import write_whole
from panelbeater.exports.words import FLASH_CAUTION
from panelbeater.terms.rig import Rig, Sample

CELL_PX = 620
GUTTER_PX = 40
LINE_PX = 34


@dataclass(frozen=True, slots=True, eq=False)
class Entry:
    """One alternate as it is shown: its name, the robot, and what is said of it."""

    name: str
    folder: str
    """Folder of its full plan, beside the sheet."""
    still: Image.Image
    facts: Mapping[str, str]
    """Short words and values, the same words in every entry."""


def alternate_entry(
    rig: Rig, sample: Sample, *, name: str, folder: str, facts: Mapping[str, str]
) -> Entry:
    """The last frame as a picture with its facts; `sample` holds one moment per frame."""
    camera = StillCamera(rig, sample)
    still = camera.picture(len(sample.stage_from_piece) - 1, CELL_PX)
    return Entry(name, folder, still, dict(facts))


def export_alternates_sheet(entries: Sequence[Entry], path: Path, *, title: str) -> None:
    """Write the side-by-side sheet as PNG, two or three robots a row."""
    height = max(entry.still.height for entry in entries)
    text_px = LINE_PX * (len(entries[0].facts) + 1) + GAP_PX
    columns = 2 if len(entries) in (2, 4) else min(3, len(entries))
    n_rows = -(-len(entries) // columns)
    wide = columns * CELL_PX + (columns - 1) * GUTTER_PX + 2 * EDGE_PX
    tall = 120 + n_rows * (height + text_px + GAP_PX) + 60
    sheet = Image.new("RGB", (wide, tall), PAGE)
    pen = ImageDraw.Draw(sheet)
    pen.text((EDGE_PX, 34), title, fill=INK, font=_font(44))
    for k, entry in enumerate(entries):
        x = EDGE_PX + (k % columns) * (CELL_PX + GUTTER_PX)
        y = 120 + (k // columns) * (height + text_px + GAP_PX)
        sheet.paste(entry.still, (x, y + height - entry.still.height))
        pen.rectangle((x, y, x + CELL_PX - 1, y + height - 1), outline=RULE, width=2)
        pen.text((x, y + height + 8), f"{k + 1}  {entry.name}", fill=INK, font=_font(28))
        for line, (word, value) in enumerate(entry.facts.items(), 1):
            at = y + height + 10 + line * LINE_PX
            pen.text((x, at), word, fill=QUIET, font=_font(24))
            pen.text((x + CELL_PX, at), value, fill=INK, font=_font(24), anchor="ra")
    pen.text((EDGE_PX, tall - 48), FLASH_CAUTION, fill=QUIET, font=_font(22))
    stream = io.BytesIO()
    sheet.save(stream, "PNG", optimize=True)
    write_whole(path, [stream.getvalue()])


def export_alternates_page(entries: Sequence[Entry], path: Path, *, title: str) -> None:
    """Write one offline page: every robot with its facts and a way into its full plan."""
    cards = "\n".join(_card(k, entry) for k, entry in enumerate(entries, 1))
    text = _PAGE.format(
        title=html.escape(title), cards=cards, caution=html.escape(FLASH_CAUTION)
    )
    write_whole(path, [text.encode()])


def _font(size: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size)


def _card(number: int, entry: Entry) -> str:
    stream = io.BytesIO()
    entry.still.save(stream, "PNG", optimize=True)
    picture = base64.b64encode(stream.getvalue()).decode()
    rows = "".join(
        f"<tr><th scope='row'>{html.escape(word)}</th><td>{html.escape(value)}</td></tr>"
        for word, value in entry.facts.items()
    )
    name, folder = html.escape(entry.name), html.escape(entry.folder, quote=True)
    return (
        f"<article><h2>{number}. {name}</h2>"
        f"<img src='data:image/png;base64,{picture}' alt='The robot of alternate {number}'>"
        f"<table>{rows}</table>"
        f"<p><a href='{folder}/preview.html'>Play alternate {number}</a></p></article>"
    )


_PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy"
 content="default-src 'none'; img-src data:; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>
:root {{ color-scheme: light dark; --paper: #f1eee6; --ink: #22282d; --rule: #b3ad9d; }}
@media (prefers-color-scheme: dark) {{
  :root {{ --paper: #1d2226; --ink: #ece8dd; --rule: #57606a; }}
}}
body {{ margin: 1.5rem; background: var(--paper); color: var(--ink);
  font: 1rem/1.5 system-ui, sans-serif; }}
main {{ display: grid; gap: 1.5rem;
  grid-template-columns: repeat(auto-fit, minmax(17rem, 1fr)); }}
article {{ border: 1px solid var(--rule); padding: 1rem; }}
h1 {{ font-size: 1.5rem; }} h2 {{ font-size: 1.1rem; margin: 0 0 .5rem; }}
img {{ width: 100%; height: auto; display: block; }}
table {{ width: 100%; border-collapse: collapse; margin-top: .75rem; }}
th {{ text-align: left; font-weight: 400; }} td {{ text-align: right; }}
th, td {{ border-top: 1px solid var(--rule); padding: .2rem 0; }}
a {{ color: inherit; display: inline-block; padding: .4rem 0; font-weight: 600; }}
a:focus-visible {{ outline: 3px solid currentColor; outline-offset: 3px; }}
</style></head>
<body><h1>{title}</h1><main>
{cards}
</main><p>{caution}</p></body></html>
"""
