"""Compare outlines with an independent renderer, so that a misread drawing is noticed."""

from __future__ import annotations

import io
import threading
from pathlib import Path

import numpy as np
import resvg_py
import shapely
from lxml import etree
from PIL import Image

from panelbeater.svg.guard import local_name, open_tree
from panelbeater.svg.paint import GREY
from panelbeater.terms.arrays import Floats
from panelbeater.terms.drawing import Shape

LONG_SIDE = 500
"""Pixels; half a pixel of edge all round then costs an icon less than 0.5 %."""


_STACK_BYTES = 256 * 2**20
"""The renderer goes down a level of groups at a time; the usual 8 MiB end at 240."""
_FOREIGN = ("foreignObject", "script", "animate", "animateTransform", "set")
_ONE_AT_A_TIME = threading.Lock()
_SVG = "{http://www.w3.org/2000/svg}"


def rendered(markup: str) -> Floats:
    """(height, width, 4) picture of an SVG text, 0 to 1; raises ValueError without one."""
    done: list[bytes] = []
    failed: list[BaseException] = []

    def render() -> None:
        try:
            image = resvg_py.svg_to_bytes(
                svg_string=markup, skip_system_fonts=True, dpi=96.0
            )
            done.append(bytes(image))
        except BaseException as error:  # the renderer's own panics are no Exception
            failed.append(error)

    with _ONE_AT_A_TIME:
        before = threading.stack_size(_STACK_BYTES)
        try:
            renderer = threading.Thread(target=render)
            renderer.start()
        finally:
            threading.stack_size(before)
    renderer.join()
    if not done:
        raise ValueError(str(failed[0]).partition("\n")[0]) from failed[0]
    with Image.open(io.BytesIO(done[0])) as picture:
        return np.asarray(picture.convert("RGBA"), dtype=np.float64) / 255


def page_pixels(view_box: tuple[float, float, float, float]) -> tuple[int, int]:
    """Width and height in pixels at which a view box is compared."""
    scale = LONG_SIDE / max(view_box[2:])
    return max(1, round(view_box[2] * scale)), max(1, round(view_box[3] * scale))


def render_file(path: Path, view_box: tuple[float, float, float, float]) -> Floats:
    """(height, width, 4) picture of the file as it is, over `view_box`."""
    root = open_tree(path)
    _tame(root)
    width, height = page_pixels(view_box)
    for name in ("style", "preserveAspectRatio"):
        root.attrib.pop(name, "")
    root.set("width", str(width))
    root.set("height", str(height))
    root.set("viewBox", " ".join(f"{value:.9g}" for value in view_box))
    root.set("preserveAspectRatio", "none")
    return rendered(etree.tostring(root, encoding="unicode"))


def _tame(root: etree._Element) -> None:
    """Take out what the reader never looks into: files it would open, and patterns,
    masks and filters, whose copies of copies could grow without end.
    """
    for element in list(root.iter()):
        name = local_name(element)
        if name in ("image", "feImage", "mask", "marker") or name in _FOREIGN:
            parent = element.getparent()
            if parent is not None:
                element.tail = None
                parent.remove(element)
        elif name in ("filter", "pattern"):
            own_id = element.get("id") or ""
            element.clear()
            element.set("id", own_id)
            if name == "filter":  # an unknown filter would hide what it is put on
                etree.SubElement(element, f"{_SVG}feOffset")
            else:
                element.tag = f"{_SVG}linearGradient"
                etree.SubElement(element, f"{_SVG}stop", {"stop-color": GREY})


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
