"""The shot as a video file, for those who only want to watch."""

from __future__ import annotations

import io
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from panelbeater.errors import DrawingError
from panelbeater.exports.compose import StillCamera
from panelbeater.exports.files import write_whole
from panelbeater.terms.rig import Rig, Sample

CODECS: dict[str, tuple[str, dict[str, str]]] = {
    ".mp4": ("libx264", {"crf": "16", "preset": "medium", "tune": "animation"}),
    ".webm": ("libvpx-vp9", {"crf": "20", "b": "0", "cpu-used": "4", "row-mt": "0"}),
}
"""Encoder and its settings by ending; at these rates flat artwork keeps its edges."""
BT709 = 1
"""Number of the colour matrix, transfer and primaries of high definition (ITU-R BT.709)."""


def export_video(
    rig: Rig, sample: Sample, path: Path, *, width_px: int, caution: str = ""
) -> None:
    """Write .mp4 (H.264) or .webm (VP9), one picture a frame, on paper.

    Sides are made even, as the encoders want them. `sample` holds one moment per frame.
    Raises DrawingError without the video extra, or on artwork that is not XML.
    """
    try:
        import av
    except ImportError:
        raise DrawingError(
            f"{path.name}: videos need an encoder; pip install 'panelbeater[video]'"
        ) from None
    camera = StillCamera(rig, sample)
    stream = io.BytesIO()
    # Bit-exact: no encoder version, no time and no random number in the file.
    flags = {"fflags": "+bitexact"}
    form = path.suffix[1:]
    with av.open(stream, "w", format=form, options=flags) as container:
        container.metadata.update(_words(rig, caution))
        track = _track(container, rig, camera, width_px, path.suffix)
        for frame in range(rig.shot.n_frames):
            picture = np.asarray(camera.picture(frame, width_px))
            shown = av.VideoFrame.from_ndarray(_even(picture), format="rgb24")
            shown = shown.reformat(
                format="yuv420p", dst_colorspace=BT709, dst_color_range="MPEG"
            )
            shown.pts, shown.time_base = frame, Fraction(1, rig.shot.fps)
            container.mux(track.encode(shown))
        container.mux(track.encode(None))
    write_whole(path, [stream.getvalue()])


def _track(
    container: Any, rig: Rig, camera: StillCamera, width_px: int, ending: str
) -> Any:
    codec, settings = CODECS[ending]
    track = container.add_stream(codec, rate=rig.shot.fps, options=settings)
    track.width = width_px + width_px % 2
    height = camera.height_px(width_px)
    track.height = height + height % 2
    track.pix_fmt = "yuv420p"
    context = track.codec_context
    context.thread_count = 1  # the number of threads would show in the bytes
    context.colorspace = context.color_primaries = context.color_trc = BT709
    context.color_range = 1
    context.flags |= 1 << 23  # AV_CODEC_FLAG_BITEXACT
    return track


def _even(picture: np.ndarray[Any, np.dtype[np.uint8]]) -> Any:
    """(h, w, 3) with both sides even, the last row and column shown twice if need be."""
    height, width = picture.shape[:2]
    return np.pad(picture, ((0, height % 2), (0, width % 2), (0, 0)), mode="edge")


def _words(rig: Rig, caution: str) -> dict[str, str]:
    about = f"{rig.shot.n_frames} frames at {rig.shot.fps} a second. {caution}"
    return {"title": rig.shot.title, "comment": about.strip()}
