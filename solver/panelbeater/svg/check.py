"""Compare outlines with an independent renderer, so that a misread drawing is noticed."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import resvg_py
import shapely
from lxml import etree
from PIL import Image

from panelbeater.svg.guard import open_tree
from panelbeater.terms.arrays import Floats
from panelbeater.terms.drawing import Shape

LONG_SIDE = 500
"""Pixels; half a pixel of edge all round then costs an icon less than 0.5 %."""


def rendered(markup: str) -> Floats:
    """(height, width, 4) picture of an SVG text, 0 to 1; raises ValueError without one."""
    image = resvg_py.svg_to_bytes(svg_string=markup, skip_system_fonts=True, dpi=96.0)
    with Image.open(io.BytesIO(bytes(image))) as picture:
        return np.asarray(picture.convert("RGBA"), dtype=np.float64) / 255


def page_pixels(view_box: tuple[float, float, float, float]) -> tuple[int, int]:
    """Width and height in pixels at which a view box is compared."""
    scale = LONG_SIDE / max(view_box[2:])
    return max(1, round(view_box[2] * scale)), max(1, round(view_box[3] * scale))


def render_file(path: Path, view_box: tuple[float, float, float, float]) -> Floats:
    """(height, width, 4) picture of the file as it is, over `view_box`."""
    root = open_tree(path)
    width, height = page_pixels(view_box)
    for name in ("style", "preserveAspectRatio"):
        root.attrib.pop(name, "")
    root.set("width", str(width))
    root.set("height", str(height))
    root.set("viewBox", " ".join(f"{value:.9g}" for value in view_box))
    root.set("preserveAspectRatio", "none")
    return rendered(etree.tostring(root, encoding="unicode"))


def mask_of(shape: Shape, view_box: tuple[float, float, float, float]) -> Floats:
    """(height, width) of 0 and 1: which pixel centres lie in `shape`."""
    width, height = page_pixels(view_box)
    x, y, w, h = view_box
    xs = x + (np.arange(width) + 0.5) * w / width
    ys = y + (np.arange(height) + 0.5) * h / height
    shapely.prepare(shape)
    inside = shapely.contains_xy(shape, *np.meshgrid(xs, ys))
    return np.asarray(inside, dtype=np.float64)


def silhouette_match(
    path: Path,
    silhouette: Shape,
    view_box: tuple[float, float, float, float],
    *,
    faintest: float = 1.0,
) -> float:
    """IoU of `silhouette` and what the renderer paints for the file.

    `faintest` is the least opacity that still counts as painted. Raises ValueError when
    the renderer refuses.
    """
    painted = render_file(path, view_box)[..., 3] >= 0.5 * faintest
    drawn = mask_of(silhouette, view_box) > 0
    either = np.count_nonzero(painted | drawn)
    return float(np.count_nonzero(painted & drawn) / either) if either else 1.0
