"""A small moving picture for a page that can only show images."""

from __future__ import annotations

import io
from pathlib import Path

from panelbeater.exports.compose import StillCamera
from panelbeater.exports.files import write_whole
from panelbeater.exports.picture_sequence import shared_palette
from panelbeater.terms.rig import Rig, Sample

EVERY = 2
FIRST_HOLD_MS = 900
LAST_HOLD_MS = 1800
COLOURS = 96
"""Flat artwork keeps its looks and stays under 2.5 MB at 720 px: tried 64, 96 and 256."""


def export_moving_picture(
    rig: Rig, sample: Sample, path: Path, *, width_px: int = 720
) -> None:
    """Write every second frame as an endless GIF, or as an animated PNG for a .png path.

    `sample` holds one moment per frame; both ends are held so that each can be read.
    """
    n_frames = len(sample.stage_from_piece)
    frames = [*range(0, n_frames - 1, EVERY), n_frames - 1]
    camera = StillCamera(rig, sample)
    stills = shared_palette([camera.picture(frame, width_px) for frame in frames], COLOURS)
    step_ms = round(1000 * EVERY / rig.shot.fps)
    durations = [step_ms] * len(frames)
    durations[0], durations[-1] = FIRST_HOLD_MS, LAST_HOLD_MS
    stream = io.BytesIO()
    form = "PNG" if path.suffix.lower() in (".png", ".apng") else "GIF"
    stills[0].save(
        stream,
        form,
        save_all=True,
        append_images=stills[1:],
        duration=durations,
        loop=0,
        optimize=True,
    )
    write_whole(path, [stream.getvalue()])
