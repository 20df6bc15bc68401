"""Every frame as a picture: a numbered sequence to composite, and files that play."""

from __future__ import annotations

import io
from itertools import pairwise
from pathlib import Path

from PIL import Image
from PIL.PngImagePlugin import PngInfo

from panelbeater.exports.compose import StillCamera
from panelbeater.exports.files import write_whole
from panelbeater.terms.rig import Rig, Sample

COLOURS = 256


def export_png_sequence(
    rig: Rig, sample: Sample, folder: Path, *, width_px: int, caution: str = ""
) -> None:
    """Write frame-0001.png and so on, one a frame, see-through where nothing is drawn.

    `sample` holds one moment per frame. Pictures of a longer shot that stood in `folder`
    under these names are taken away. Raises DrawingError on artwork that is not XML.
    """
    camera = StillCamera(rig, sample, is_cut_out=True)
    words = _words(rig, caution)
    names = [f"frame-{frame + 1:04d}.png" for frame in range(rig.shot.n_frames)]
    for frame, name in enumerate(names):
        stream = io.BytesIO()
        camera.picture(frame, width_px).save(stream, "PNG", pnginfo=words)
        write_whole(folder / name, [stream.getvalue()])
    for old in sorted(folder.glob("frame-[0-9][0-9][0-9][0-9].png")):
        if old.name not in names:
            old.unlink()


def export_apng(
    rig: Rig, sample: Sample, path: Path, *, width_px: int, caution: str = ""
) -> None:
    """Write all frames as one endless animated PNG, see-through where nothing is drawn.

    `sample` holds one moment per frame. Raises DrawingError on artwork that is not XML.
    """
    camera = StillCamera(rig, sample, is_cut_out=True)
    stills = [camera.picture(frame, width_px) for frame in range(rig.shot.n_frames)]
    stream = io.BytesIO()
    stills[0].save(
        stream, "PNG", save_all=True, append_images=stills[1:], loop=0, disposal=1,
        duration=frame_times_ms(rig, grid_ms=1), pnginfo=_words(rig, caution),
    )  # fmt: skip
    write_whole(path, [stream.getvalue()])


def export_gif(
    rig: Rig, sample: Sample, path: Path, *, width_px: int, caution: str = ""
) -> None:
    """Write all frames as one endless GIF on paper, one set of colours throughout.

    The format counts in hundredths of a second: frames take turns so that the shot keeps
    its length. `sample` holds one moment per frame. Raises DrawingError on artwork that is
    not XML.
    """
    camera = StillCamera(rig, sample)
    stills = shared_palette(
        [camera.picture(frame, width_px) for frame in range(rig.shot.n_frames)], COLOURS
    )
    comment = f"{_about(rig)} {caution}".strip()
    stream = io.BytesIO()
    stills[0].save(
        stream, "GIF", save_all=True, append_images=stills[1:], loop=0,
        duration=frame_times_ms(rig, grid_ms=10),
        comment=comment.encode("ascii", "replace"),
    )  # fmt: skip
    write_whole(path, [stream.getvalue()])


def frame_times_ms(rig: Rig, *, grid_ms: int) -> list[int]:
    """How long each frame stands, in whole steps of the grid that never drift apart."""
    at = [
        round(1000 * frame / rig.shot.fps / grid_ms) * grid_ms
        for frame in range(rig.shot.n_frames + 1)
    ]
    return [max(grid_ms, stop - start) for start, stop in pairwise(at)]


def shared_palette(stills: list[Image.Image], n_colours: int) -> list[Image.Image]:
    """One set of colours for the whole picture, so that flat areas never shimmer."""
    shown = stills[:: max(1, len(stills) // 6)]
    width, height = stills[0].size
    strip = Image.new("RGB", (width, height * len(shown)))
    for row, still in enumerate(shown):
        strip.paste(still, (0, row * height))
    palette = strip.quantize(n_colours, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    return [still.quantize(palette=palette, dither=Image.Dither.NONE) for still in stills]


def _about(rig: Rig) -> str:
    return f"{rig.shot.title}: {rig.shot.n_frames} frames at {rig.shot.fps} a second."


def _words(rig: Rig, caution: str) -> PngInfo:
    """Text chunks of the PNG specification, section 11.3.4."""
    info = PngInfo()
    info.add_itxt("Title", rig.shot.title)
    info.add_itxt("Description", f"{_about(rig)} {caution}".strip())
    return info
