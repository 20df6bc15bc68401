"""Stills for the report, small enough to travel inside the page."""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence

import numpy as np
from PIL import Image

from panelbeater.animation import ShotPlan
from panelbeater.exports import StillCamera
from panelbeater.stress.recognition import Mask
from panelbeater.stress.views import Bytes

COLOURS = 64
"""Flat artwork keeps its looks in so many."""
INK, PAPER = (31, 38, 43), (247, 244, 236)


class Stills:
    """Stills of one plan as data addresses."""

    def __init__(self, plan: ShotPlan) -> None:
        self._camera = StillCamera(plan.rig, plan.sample)
        self._names = [piece.id for piece in plan.rig.drawing.pieces]
        window = self._camera.window
        self.ratio = window.width / window.height

    def still(self, frame: int, width_px: int, lit: Sequence[str] | None = None) -> str:
        """One frame; with `lit`, these pieces shine and the rest is veiled."""
        if lit is None:
            return _address(self._camera.picture(frame, width_px))
        shown = [self._names.index(name) for name in lit]
        return _address(self._camera.lit_picture(frame, width_px, shown))


def as_seen(picture: Bytes) -> str:
    """A picture through other eyes."""
    return _address(Image.fromarray(picture))


def shadow(mask: Mask) -> str:
    """A silhouette, ink on card."""
    picture = np.where(mask[..., None], INK, PAPER).astype(np.uint8)
    return _address(Image.fromarray(picture))


def _address(picture: Image.Image) -> str:
    stream = io.BytesIO()
    few = picture.quantize(COLOURS, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    few.save(stream, "PNG", optimize=True)
    return "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode()
