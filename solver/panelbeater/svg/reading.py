"""Open a vector drawing and hand back its shapes."""

from __future__ import annotations

from pathlib import Path
from xml.sax.saxutils import quoteattr

import numpy as np
from lxml import etree

from panelbeater.errors import DrawingError
from panelbeater.svg.clips import Clip, clipped, matrix_markup
from panelbeater.svg.elements import view_box_of
from panelbeater.svg.guard import open_tree
from panelbeater.svg.nouns import SvgDrawing, SvgShape
from panelbeater.svg.numbers import BadNumberError, length, numbers
from panelbeater.svg.outlines import (
    EMPTY,
    Fineness,
    StrokeStyle,
    filled,
    lines_of,
    rings_of,
    stroked,
    united,
)
from panelbeater.svg.paint import Paint, Shelf
from panelbeater.svg.paths import written
from panelbeater.svg.places import FoundShape
from panelbeater.svg.styles import read_rules, sheet_work
from panelbeater.svg.walk import Walker
from panelbeater.terms.drawing import Shape

MOST_SHEET_WORK = 2_000_000
"""About two seconds; a drawing with 50 rules and 2000 shapes takes a quarter of it."""


def read_svg(path: Path) -> SvgDrawing:
    """Read every shape of the file at `path`, in paint order.

    Raises DrawingError, one line naming the file (and line and element where there is one),
    when the file is empty, broken, unsafe, no SVG, or holds absurd coordinates.
    """
    root = open_tree(path)
    try:
        box = view_box_of(root)
        size = (box[2], box[3]) if box else _page_size(root)
    except BadNumberError as error:
        raise DrawingError(
            f"{path.name}: line {root.sourceline}: <svg>: {error}"
        ) from error
    rules = read_rules(root)
    if sheet_work(root, rules) > MOST_SHEET_WORK:
        raise DrawingError(
            f"{path.name}: its style sheet holds {len(rules)} rules for too many elements; "
            "save as plain SVG, with the style in the shapes"
        )
    walker = Walker(path.name, Shelf(_by_id(root), rules, size))
    try:
        walker.root(root, size)
    except RecursionError:
        raise DrawingError(
            f"{path.name}: copies and clips are nested too deep; expand some"
        ) from None
    try:
        view_box, fineness = _page(root, box, size, walker.shapes)
    except BadNumberError as error:
        raise DrawingError(f"{path.name}: {error}") from error
    builder = _Builder(walker.shelf, fineness)
    shapes = []
    for found in walker.shapes:
        try:
            shapes.append(builder.shape(found))
        except BadNumberError as error:
            raise walker.complain(found.element, str(error)) from error
    return SvgDrawing(
        shapes=tuple(shapes),
        defs="".join(walker.shelf.markup.values()),
        view_box=view_box,
        source=path.name,
        warnings=tuple(f"{path.name}: {text}" for text in walker.shelf.warnings),
    )


def _page(
    root: etree._Element,
    box: tuple[float, float, float, float] | None,
    size: tuple[float, float],
    shapes: list[FoundShape],
) -> tuple[tuple[float, float, float, float], Fineness]:
    """The view box, or the box round all shapes when there is no page; and the fineness."""
    extent = _extent(shapes)
    if extent is None:
        return box or (0.0, 0.0, *size), Fineness.suited_to(1.0)
    low, high = extent
    if box is None and not (root.get("width") and root.get("height")):
        box = (
            float(low[0]),
            float(low[1]),
            float(high[0] - low[0]),
            float(high[1] - low[1]),
        )
    view_box = box or (0.0, 0.0, *size)
    # Art far off the page must not coarsen what is on it.
    diagonal = min(float(np.hypot(*(high - low))), float(np.hypot(*view_box[2:])))
    return view_box, Fineness.suited_to(diagonal or 1.0)


def _by_id(root: etree._Element) -> dict[str, etree._Element]:
    found: dict[str, etree._Element] = {}
    for element in root.iter():
        name = element.get("id") if isinstance(element.tag, str) else None
        if name:
            found.setdefault(name, element)
    return found


def _page_size(root: etree._Element) -> tuple[float, float]:
    """Width and height of a drawing without a view box; 100 x 100 when it has none."""
    sizes = [length(root.get(name) or "100%", whole=100.0) for name in ("width", "height")]
    return (sizes[0], sizes[1]) if min(sizes) > 0 else (100.0, 100.0)


def _extent(shapes: list[FoundShape]) -> tuple[np.ndarray, np.ndarray] | None:
    """Corners round all visible shapes, by their control points."""
    points = [
        sub.moved(found.place.matrix).control()
        for found in shapes
        if not found.place.hidden
        for sub in found.subpaths
    ]
    if not points:
        return None
    every = np.concatenate(points)
    return every.min(axis=0), every.max(axis=0)


def pen_of(found: FoundShape) -> StrokeStyle:
    """How the stroke of a shape is drawn, percentages worked out."""
    style = found.place.style
    both = float(np.hypot(*found.place.size) / 2**0.5)
    dashes: tuple[float, ...] = ()
    if style["stroke-dasharray"] not in ("none", ""):
        words = style["stroke-dasharray"].replace(",", " ").split()
        dashes = tuple(length(word, whole=both) for word in words)
    return StrokeStyle(
        width=length(style["stroke-width"], whole=both),
        cap=style["stroke-linecap"],
        join=style["stroke-linejoin"],
        miter_limit=(numbers(style["stroke-miterlimit"]) or [4.0])[0],
        dashes=dashes,
        dash_start=length(style["stroke-dashoffset"], whole=both),
    )


class _Builder:
    """Turns found shapes into outlines and artwork, all on one grid."""

    def __init__(self, shelf: Shelf, fineness: Fineness) -> None:
        self.shelf = shelf
        self.fineness = fineness
        self.clip_areas: dict[str, Shape] = {}

    def shape(self, found: FoundShape) -> SvgShape:
        """One shape, finished."""
        place, style = found.place, found.place.style
        fill = self.shelf.paint(style, "fill")
        stroke = self.shelf.paint(style, "stroke")
        pen = pen_of(found)
        hidden = place.hidden or style["visibility"] != "visible"
        fill_outline = self._fill_outline(found) if fill.colour != "none" else EMPTY
        outline = fill_outline
        if stroke.colour != "none" and pen.width > 0:
            edge = stroked(list(found.subpaths), pen, place.matrix, self.fineness)
            outline = united([fill_outline, edge], self.fineness.grid)
        for clip in place.clips:
            area = clip.area(self.fineness, self.clip_areas)
            fill_outline = clipped(fill_outline, area, self.fineness)
            outline = clipped(outline, area, self.fineness)
        strongest = max(
            fill.alpha if fill.colour != "none" else 0.0,
            stroke.alpha if stroke.colour != "none" else 0.0,
        )
        return SvgShape(
            id=found.element.get("id"),
            labels=found.labels,
            outline=outline,
            fill_outline=fill_outline,
            fill=fill.colour,
            stroke=stroke.colour if pen.width > 0 else "none",
            opacity=place.opacity * strongest,
            markup="" if hidden else self._markup(found, fill, stroke, pen),
            hidden=hidden,
            name=found.name,
            lines=lines_of(list(found.subpaths), place.matrix, self.fineness.tolerance),
            groups=place.groups,
        )

    def _fill_outline(self, found: FoundShape) -> Shape:
        rings = rings_of(list(found.subpaths), found.place.matrix, self.fineness.tolerance)
        return filled(rings, found.place.style["fill-rule"], self.fineness.grid)

    def _markup(
        self, found: FoundShape, fill: Paint, stroke: Paint, pen: StrokeStyle
    ) -> str:
        place, style = found.place, found.place.style
        words = [f'd="{written(list(found.subpaths))}"', f"fill={quoteattr(fill.markup)}"]
        if fill.colour != "none":
            words += [f'fill-opacity="{fill.alpha:.6g}"'] if fill.alpha < 1 else []
            words += ['fill-rule="evenodd"'] if style["fill-rule"] == "evenodd" else []
        if stroke.colour != "none" and pen.width > 0:
            words += _pen_words(stroke, pen)
            if style["paint-order"] not in ("normal", ""):
                words.append(f"paint-order={quoteattr(style['paint-order'])}")
        words += [f'opacity="{place.opacity:.6g}"'] if place.opacity < 1 else []
        markup = f"<path {' '.join(words)}{matrix_markup(place.matrix)}/>"
        for clip in reversed(place.clips):
            self._keep(clip)
            markup = f'<g clip-path="url(#{clip.id})">{markup}</g>'
        return markup

    def _keep(self, clip: Clip) -> None:
        """Shelve a clip and all it refers to."""
        if clip.id in self.shelf.markup:
            return
        self.shelf.markup[clip.id] = clip.markup()
        inner = [part.inner for part in clip.parts]
        for other in (clip.outer, *inner):
            if other is not None:
                self._keep(other)


def _pen_words(stroke: Paint, pen: StrokeStyle) -> list[str]:
    words = [f"stroke={quoteattr(stroke.markup)}", f'stroke-width="{pen.width:.9g}"']
    words += [f'stroke-opacity="{stroke.alpha:.6g}"'] if stroke.alpha < 1 else []
    words += [f"stroke-linecap={quoteattr(pen.cap)}"] if pen.cap != "butt" else []
    if pen.join != "miter":
        words.append(f"stroke-linejoin={quoteattr(pen.join)}")
    elif pen.miter_limit != 4.0:
        words.append(f'stroke-miterlimit="{pen.miter_limit:.6g}"')
    if pen.dashes:
        words.append(f'stroke-dasharray="{" ".join(f"{dash:.9g}" for dash in pen.dashes)}"')
        words.append(f'stroke-dashoffset="{pen.dash_start:.9g}"')
    return words
