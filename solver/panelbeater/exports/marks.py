"""The artwork of a piece as plain marks: what is filled or drawn, where and with what."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from lxml import etree

from panelbeater.errors import DrawingError
from panelbeater.exports.artwork import SVG
from panelbeater.svg.clips import Clip, clipped, unit_box
from panelbeater.svg.numbers import BadNumberError, transform
from panelbeater.svg.outlines import Fineness, StrokeStyle, filled, rings_of, stroked
from panelbeater.svg.paint import Paint, Shelf
from panelbeater.svg.paths import Subpath, polyline
from panelbeater.svg.places import FoundShape
from panelbeater.svg.reading import pen_of
from panelbeater.svg.walk import Walker
from panelbeater.terms.arrays import Affines, Points
from panelbeater.terms.drawing import Drawing, Shape


@dataclass(frozen=True, slots=True, eq=False)
class Gradient:
    """A paint that changes along a line or outwards from a centre."""

    is_radial: bool
    points: Points
    """(3, 2), gradient units: start, end, focus; for a radial one centre and a spot on its
    circle."""
    drawing_from_gradient: Affines
    """(3, 3)"""
    stops: tuple[tuple[float, str, float], ...]
    """Offset 0 to 1, #rrggbb, opacity."""


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """One paint on one shape."""

    strokes: tuple[Subpath, ...]
    """Drawing coordinates."""
    colour: str
    """#rrggbb; the mean of a gradient."""
    alpha: float
    rule: Literal["nonzero", "evenodd"] = "nonzero"
    pen: StrokeStyle | None = None
    """None for a filled shape; lengths in drawing units."""
    gradient: Gradient | None = None

    def area(self, fineness: Fineness) -> Shape:
        """What the mark covers, in drawing coordinates."""
        if self.pen is not None:
            return stroked(list(self.strokes), self.pen, np.eye(3), fineness)
        rings = rings_of(list(self.strokes), np.eye(3), fineness.tolerance)
        return filled(rings, self.rule, fineness.grid)


@dataclass(frozen=True, slots=True, eq=False)
class Artwork:
    """Marks of every piece, far to near, and what could not be said in marks."""

    pieces: tuple[tuple[Mark, ...], ...]
    notes: tuple[str, ...]


def read_artwork(drawing: Drawing) -> Artwork:
    """Marks of all pieces, in the order of the drawing.

    Clipped shapes, strokes under a skewing transform and strokes with a gradient become
    areas. Text, pictures, masks, filters and repeating gradients are left out or made
    plain, with a note each. Raises DrawingError on artwork that is not XML.
    """
    x0, y0, x1, y1 = drawing.silhouette.bounds
    fineness = Fineness.suited_to(float(np.hypot(x1 - x0, y1 - y0)) or 1.0)
    notes: dict[str, None] = {}
    pieces = []
    for piece in drawing.pieces:
        reader = _Reader(_tree(piece.artwork, drawing.defs, piece.id), piece.id, fineness)
        pieces.append(reader.marks())
        notes |= dict.fromkeys(f"{piece.id}: {text}" for text in reader.shelf.warnings)
    return Artwork(tuple(pieces), tuple(notes))


def _tree(artwork: str, defs: str, owner: str) -> etree._Element:
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, remove_comments=True, remove_pis=True
    )
    text = (
        f'<svg xmlns="{SVG}" xmlns:xlink="http://www.w3.org/1999/xlink">'
        f"<defs>{defs}</defs>{artwork}</svg>"
    )
    try:
        return etree.fromstring(text.encode(), parser)
    except etree.XMLSyntaxError as error:
        raise DrawingError(
            f"the artwork of piece '{owner}' is not well-formed SVG: {error}"
        ) from error


class _Reader:
    """Reads the artwork of one piece."""

    def __init__(self, root: etree._Element, owner: str, fineness: Fineness) -> None:
        by_id = {str(e.get("id")): e for e in root.iter() if e.get("id")}
        # Our own artwork holds no percentages; in a stranger's they mean a page of 100.
        self.shelf = Shelf(by_id, (), (100.0, 100.0))
        self._walker = Walker(f"the artwork of piece '{owner}'", self.shelf)
        self._fineness = fineness
        self._areas: dict[str, Shape] = {}
        self._root = root

    def marks(self) -> tuple[Mark, ...]:
        """All marks, far to near."""
        self._walker.root(self._root, self.shelf.size)
        found: list[Mark] = []
        for shape in self._walker.shapes:
            if shape.place.hidden or shape.place.style["visibility"] != "visible":
                continue
            try:
                found += self._of_shape(shape)
            except BadNumberError as error:
                raise self._walker.complain(shape.element, str(error)) from error
        return tuple(found)

    def _of_shape(self, shape: FoundShape) -> list[Mark]:
        place, style = shape.place, shape.place.style
        moved = tuple(sub.moved(place.matrix) for sub in shape.subpaths)
        made: list[Mark] = []
        fill = self.shelf.paint(style, "fill")
        if fill.colour != "none":
            rule: Literal["nonzero", "evenodd"] = (
                "evenodd" if style["fill-rule"] == "evenodd" else "nonzero"
            )
            made.append(self._mark(moved, fill, shape, rule))
        pen, stroke = pen_of(shape), self.shelf.paint(style, "stroke")
        if stroke.colour != "none" and pen.width > 0:
            line = self._line(moved, stroke, pen, shape)
            first = style["paint-order"].split()[:1] == ["stroke"]
            made.insert(0 if first else len(made), line)
        return [self._clipped(mark, place.clips) for mark in made]

    def _mark(
        self,
        strokes: tuple[Subpath, ...],
        paint: Paint,
        shape: FoundShape,
        rule: Literal["nonzero", "evenodd"],
    ) -> Mark:
        return Mark(
            strokes, paint.colour, paint.alpha * shape.place.opacity, rule,
            gradient=self._gradient(paint, shape),
        )  # fmt: skip

    def _line(
        self,
        strokes: tuple[Subpath, ...],
        paint: Paint,
        pen: StrokeStyle,
        shape: FoundShape,
    ) -> Mark:
        linear = shape.place.matrix[:2, :2]
        squares = linear.T @ linear
        zoom = float(np.sqrt(squares[0, 0]))
        is_even = np.allclose(squares, zoom * zoom * np.eye(2), rtol=0, atol=1e-6 * zoom)
        mark = self._mark(strokes, paint, shape, "nonzero")
        if mark.gradient is None and is_even:
            wider = replace(
                pen,
                width=pen.width * zoom,
                dashes=tuple(dash * zoom for dash in pen.dashes),
                dash_start=pen.dash_start * zoom,
            )
            return replace(mark, pen=wider)
        area = stroked(list(shape.subpaths), pen, shape.place.matrix, self._fineness)
        return replace(mark, strokes=polygon_strokes(area), rule="evenodd")

    def _clipped(self, mark: Mark, clips: tuple[Clip, ...]) -> Mark:
        if not clips:
            return mark
        area = mark.area(self._fineness)
        for clip in clips:
            area = clipped(area, clip.area(self._fineness, self._areas), self._fineness)
        return replace(mark, strokes=polygon_strokes(area), rule="evenodd", pen=None)

    def _gradient(self, paint: Paint, shape: FoundShape) -> Gradient | None:
        if not paint.markup.startswith("url(#"):
            return None
        element = etree.fromstring(self.shelf.markup[paint.markup[5:-1]])
        sets = {str(name): str(value) for name, value in element.attrib.items()}
        if sets.get("spreadMethod", "pad") != "pad":
            self.shelf.warn("a repeating gradient is painted once")
        if float(sets.get("fr", "0").rstrip("%")) > 0:
            self.shelf.warn("the inner circle of a gradient is drawn as a point")
        is_radial = element.tag == "radialGradient"
        matrix = shape.place.matrix
        if sets.get("gradientUnits", "objectBoundingBox") == "objectBoundingBox":
            flat = [sub.flat(self._fineness.tolerance) for sub in shape.subpaths]
            matrix = matrix @ unit_box(np.concatenate(flat))
        if abs(np.linalg.det(matrix)) < 1e-12:
            return None  # a line has no box to spread a gradient over
        stops = tuple(
            (float(s.get("offset") or 0), str(s.get("stop-color")),
             float(s.get("stop-opacity") or 1)) for s in element
        )  # fmt: skip
        return Gradient(
            is_radial=is_radial,
            points=_gradient_points(sets, is_radial=is_radial),
            drawing_from_gradient=matrix @ transform(sets.get("gradientTransform")),
            stops=stops,
        )


def _gradient_points(sets: dict[str, str], *, is_radial: bool) -> Points:
    def at(name: str, otherwise: str) -> float:
        text = sets.get(name, otherwise)
        return float(text[:-1]) / 100 if text.endswith("%") else float(text)

    if not is_radial:
        start, end = (at("x1", "0"), at("y1", "0")), (at("x2", "1"), at("y2", "0"))
        return np.array([start, end, start])
    x, y, r = at("cx", "0.5"), at("cy", "0.5"), at("r", "0.5")
    focus = (at("fx", str(x)), at("fy", str(y)))
    return np.array([(x, y), (x + r, y), focus])


def polygon_strokes(area: Shape) -> tuple[Subpath, ...]:
    """All rings as closed strokes, to be filled by the even-odd rule."""
    return tuple(
        polyline(shapely.get_coordinates(ring)[:-1], closed=True)
        for polygon in shapely.get_parts(area)
        if not polygon.is_empty
        for ring in (polygon.exterior, *polygon.interiors)
    )
