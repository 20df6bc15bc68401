"""What is written in place of moving pictures that must not be shown unasked."""

from __future__ import annotations

import base64
import io
from html import escape
from pathlib import Path

from panelbeater.exports.compose import StillCamera
from panelbeater.exports.files import write_whole
from panelbeater.exports.keys import telling_frames
from panelbeater.exports.layers import export_layers
from panelbeater.exports.words import FLASH_CAUTION
from panelbeater.terms.rig import Rig, Sample

N_STILLS = 9
STILL_PX = 420
_PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8">
<meta http-equiv="Content-Security-Policy"
 content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light">
<title>{title}: stills only</title>
<link rel="icon" href="data:,">
<style>
body {{ margin: 0 auto; max-width: 84rem; padding: 1.5rem; background: #dedacf;
 color: #22282d; font: 1rem/1.5 system-ui, sans-serif }}
.why {{ background: #fff; border-left: .4rem solid #b3261e; padding: .8rem 1rem }}
main {{ display: grid; gap: 1rem;
 grid-template-columns: repeat(auto-fit, minmax(16rem, 1fr)) }}
figure {{ margin: 0 }} img {{ width: 100%; height: auto; display: block }}
</style></head>
<body><h1>{title}</h1>
<p class="why" role="note"><strong>Nothing moves on this page.</strong> {why}
The moving preview is written with <code>--allow-flashing</code>. {caution}</p>
<main>{stills}</main></body></html>
"""


def export_still_page(rig: Rig, sample: Sample, path: Path, *, why: str) -> None:
    """Write a page of stills in place of the preview; `why` is plain text, a sentence."""
    camera = StillCamera(rig, sample)
    frames = telling_frames(rig, sample, N_STILLS)
    stills = "".join(
        f'<figure><img src="{_address(camera, frame)}" alt="frame {frame + 1}">'
        f"<figcaption>frame {frame + 1}</figcaption></figure>"
        for frame in frames
    )
    title = escape(rig.shot.title)
    text = _PAGE.format(
        title=title, why=escape(why), caution=escape(FLASH_CAUTION), stills=stills
    )
    write_whole(path, [text.encode()])


def export_still_svg(rig: Rig, sample: Sample, path: Path, *, why: str) -> None:
    """Write the last frame, in named layers, in place of the animated drawing."""
    words = f"{why} Written with --allow-flashing it moves. {FLASH_CAUTION}"
    export_layers(rig, sample, path, frame=rig.shot.n_frames - 1, caution=words)


def _address(camera: StillCamera, frame: int) -> str:
    stream = io.BytesIO()
    camera.picture(frame, STILL_PX).save(stream, "PNG", optimize=True)
    return "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode()
