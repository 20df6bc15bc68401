"""What single elements of a drawing say: their strokes, labels and boxes."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from lxml import etree

from panelbeater.svg.guard import local_name
from panelbeater.svg.numbers import length, numbers
from panelbeater.svg.paths import Subpath, ellipse, polyline, read_path, rectangle

SHAPES = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
_LEVEL = ("x", "cx", "rx", "width", "x1", "x2")


def lengths_of(
    element: etree._Element, size: tuple[float, float], names: tuple[str, ...]
) -> list[float]:
    """Length attributes in user units, 0 when absent; percentages are of `size`."""
    width, height = size
    both = float(np.hypot(width, height) / 2**0.5)
    found = []
    for name in names:
        whole = width if name in _LEVEL else both if name == "r" else height
        text = element.get(name) or "0"
        found.append(0.0 if text == "auto" else length(text, whole=whole))
    return found


def subpaths_of(
    element: etree._Element, size: tuple[float, float], warn: Callable[[str], None]
) -> list[Subpath]:
    """The strokes of one shape element, in its own units."""
    tag = local_name(element)
    if tag == "path":
        subpaths, complete = read_path(element.get("d") or "")
        if not complete:
            name = element.get("id") or ""
            warn(
                f"path '{name}' on line {element.sourceline} has a mistake in its data; "
                "drawn up to there"
            )
        return subpaths
    if tag in ("polyline", "polygon"):
        flat = numbers(element.get("points") or "")
        points = np.array(flat[: len(flat) // 2 * 2]).reshape(-1, 2)
        return [polyline(points, closed=tag == "polygon")] if len(points) else []
    if tag == "line":
        ends = lengths_of(element, size, ("x1", "y1", "x2", "y2"))
        return [polyline(np.array(ends).reshape(2, 2), closed=False)]
    if tag == "rect":
        return _rect(element, size)
    cx, cy, r, rx, ry = lengths_of(element, size, ("cx", "cy", "r", "rx", "ry"))
    if tag == "circle":
        rx = ry = r
    elif not element.get("rx") or not element.get("ry"):
        rx = ry = rx or ry
    return [ellipse(cx, cy, rx, ry)] if min(rx, ry) > 0 else []


def _rect(element: etree._Element, size: tuple[float, float]) -> list[Subpath]:
    names = ("x", "y", "width", "height", "rx", "ry")
    x, y, w, h, rx, ry = lengths_of(element, size, names)
    # One radius given stands for both (SVG 2, section 10.2).
    has_rx = element.get("rx") not in (None, "auto")
    has_ry = element.get("ry") not in (None, "auto")
    rx, ry = rx if has_rx else ry, ry if has_ry else rx
    return [rectangle(x, y, w, h, min(rx, w / 2), min(ry, h / 2))] if min(w, h) > 0 else []


def chosen_branch(element: etree._Element) -> list[etree._Element]:
    """The branch of a <switch> that asks for nothing we cannot do."""
    for inner in element:
        languages = (inner.get("systemLanguage") or "en").split(",")
        plain = inner.get("requiredExtensions") is None and local_name(inner)
        if plain and any(word.strip().startswith("en") for word in languages):
            return [inner]
    return []


def editor_label(element: etree._Element) -> str:
    """The name an editor shows for an element, when it keeps one beside the id."""
    for name, value in element.attrib.items():
        if isinstance(name, str) and name.endswith(("}label", ":label")):
            return str(value).strip()
    return ""


def view_box_of(element: etree._Element) -> tuple[float, float, float, float] | None:
    """The viewBox attribute, when it is there and has a size."""
    text = element.get("viewBox")
    if text is None:
        return None
    found = numbers(text)
    if len(found) != 4 or found[2] <= 0 or found[3] <= 0:
        return None
    return found[0], found[1], found[2], found[3]
