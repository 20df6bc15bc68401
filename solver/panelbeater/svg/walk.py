"""Walk a drawing in paint order and note every shape with all that applies to it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from lxml import etree

from panelbeater.errors import DrawingError, plain
from panelbeater.geometry.frames import apply
from panelbeater.svg.clips import Clip, ClipPart, unit_box
from panelbeater.svg.elements import (
    SHAPES,
    chosen_branch,
    editor_label,
    lengths_of,
    subpaths_of,
    view_box_of,
)
from panelbeater.svg.guard import MOST_COPIES, MOST_LEVELS, MOST_SHAPES, local_name
from panelbeater.svg.nouns import SvgGroup
from panelbeater.svg.numbers import (
    BadNumberError,
    affine,
    fit_view_box,
    length,
    ratio,
    transform,
)
from panelbeater.svg.paint import Shelf, href, reference
from panelbeater.svg.paths import MOST_POINTS, rectangle
from panelbeater.svg.places import FoundShape, Place
from panelbeater.svg.styles import INITIAL, declarations, inherited
from panelbeater.svg.unread import IGNORED, UNREAD
from panelbeater.terms.arrays import Affines, Points

_LARGEST_ZOOM = 1e9
"""Far beyond any drawing, and far from where products of transforms overflow."""
_GROUPS = ("g", "a", "svg", "switch", "use")


@dataclass(slots=True)
class Walker:
    """Collects the shapes of one file."""

    source: str
    shelf: Shelf
    shapes: list[FoundShape] = field(default_factory=list)
    n_copied: int = 0
    n_groups: int = 0
    n_clips: int = 0
    is_measuring: bool = False
    """Measuring a bounding box: clips do not count, and would be measured without end."""

    def complain(self, element: etree._Element, text: str) -> DrawingError:
        """An error that names the file, the element and its line."""
        name = plain(" ".join((element.get("id") or "").split()))
        called = f" '{name}'" if name else ""
        return DrawingError(
            f"{self.source}: line {element.sourceline}: "
            f"<{local_name(element)}>{called}: {text}"
        )

    def root(self, element: etree._Element, size: tuple[float, float]) -> None:
        """Walk the whole drawing; its own x, y and size do not matter inside."""
        own = declarations(element, self.shelf.rules)
        place = Place(np.eye(3), inherited(INITIAL, own), size)
        place = replace(
            place,
            opacity=ratio(own.get("opacity", "1")),
            hidden=own.get("display") == "none",
        )
        for inner in element:
            self.visit(inner, place)

    def visit(self, element: etree._Element, place: Place) -> None:
        """Walk one element and what is inside it."""
        tag = local_name(element)
        if tag in UNREAD:
            self.shelf.warn(UNREAD[tag])
        if tag not in SHAPES and tag not in _GROUPS:
            return
        self.n_copied += bool(place.used)
        if self.n_copied > MOST_COPIES:
            raise self.complain(element, "copies of copies never end; expand them")
        if place.levels > MOST_LEVELS:
            raise self.complain(element, f"nested deeper than {MOST_LEVELS} levels")
        try:
            inner = self._enter(element, place)
            if tag in SHAPES:
                self._note_shape(element, inner)
            else:
                self._visit_group(element, tag, inner)
        except BadNumberError as error:
            raise self.complain(element, str(error)) from error

    def _enter(self, element: etree._Element, place: Place) -> Place:
        own = declarations(element, self.shelf.rules)
        style = inherited(place.style, own)
        for name, text in IGNORED.items():
            if own.get(name, "none") != "none":
                self.shelf.warn(text)
        matrix = place.matrix @ self._own_matrix(element, own, place)
        if not np.abs(matrix).max() <= _LARGEST_ZOOM:
            raise self.complain(element, "its transforms reach beyond 1e6; undo some")
        inner = replace(
            place,
            matrix=matrix,
            style=style,
            opacity=place.opacity * ratio(own.get("opacity", "1")),
            hidden=place.hidden or own.get("display") == "none",
            levels=place.levels + 1,
        )
        found = reference(own.get("clip-path"))
        if found is None or self.is_measuring:
            return inner
        clip = self._clip(found[0], element, inner)
        return inner if clip is None else replace(inner, clips=(*inner.clips, clip))

    def _own_matrix(
        self, element: etree._Element, own: dict[str, str], place: Place
    ) -> Affines:
        matrix = transform(own.get("transform"))
        origin = own.get("transform-origin")
        if not origin:
            return matrix
        words = [
            {"left": "0%", "top": "0%", "center": "50%"}.get(w, w) for w in origin.split()
        ]
        words = [{"right": "100%", "bottom": "100%"}.get(w, w) for w in words]
        x = length(words[0], whole=place.size[0])
        y = length(words[1] if len(words) > 1 else "50%", whole=place.size[1])
        return affine(1, 0, 0, 1, x, y) @ matrix @ affine(1, 0, 0, 1, -x, -y)

    def _visit_group(self, element: etree._Element, tag: str, place: Place) -> None:
        place = self._grouped(element, place)
        if tag == "use":
            self._visit_use(element, place)
            return
        if tag == "svg":
            place = self._viewport(element, element, place)
        for inner in chosen_branch(element) if tag == "switch" else element:
            self.visit(inner, place)

    def _grouped(self, element: etree._Element, place: Place) -> Place:
        label, own_id = editor_label(element), element.get("id")
        self.n_groups += 1
        is_layer = any(
            isinstance(name, str) and name.endswith("groupmode") and value == "layer"
            for name, value in element.attrib.items()
        )
        group = SvgGroup(self.n_groups, label or own_id or "", is_layer)
        labels = tuple(text for text in (own_id, label) if text)
        return replace(
            place, groups=(*place.groups, group), labels=(*place.labels, *labels)
        )

    def _visit_use(self, element: etree._Element, place: Place) -> None:
        target = self.shelf.by_id.get(href(element) or "")
        if target is None:
            self.shelf.warn(f"<use> on line {element.sourceline} points to nothing here")
            return
        if target in place.used or target in element.iterancestors():
            raise self.complain(element, "is a copy of itself; expand or delete it")
        x, y = lengths_of(element, place.size, ("x", "y"))
        place = replace(
            place,
            matrix=place.matrix @ affine(1, 0, 0, 1, x, y),
            used=(*place.used, target),
        )
        if local_name(target) != "symbol":
            self.visit(target, place)
            return
        inner = self._viewport(target, element, self._enter(target, place))
        for child in target:
            self.visit(child, inner)

    def _viewport(
        self, element: etree._Element, sized: etree._Element, place: Place
    ) -> Place:
        """Inside a nested drawing or symbol: `element` has the box, `sized` the size."""
        x, y, w, h = (
            length(element.get(name) or sized.get(name) or otherwise, whole=whole)
            for name, otherwise, whole in (
                ("x", "0", place.size[0]),
                ("y", "0", place.size[1]),
                ("width", "100%", place.size[0]),
                ("height", "100%", place.size[1]),
            )
        )
        if element is not sized:
            x = y = 0.0  # a symbol's place is given by the copy that shows it
            w = length(sized.get("width") or "100%", whole=place.size[0])
            h = length(sized.get("height") or "100%", whole=place.size[1])
        if w <= 0 or h <= 0:
            return replace(place, hidden=True)
        matrix = place.matrix @ affine(1, 0, 0, 1, x, y)
        own = declarations(element, self.shelf.rules)
        box = view_box_of(element)
        shows_all = own.get("overflow") in ("visible", "auto")
        if shows_all or (element is not sized and box is None):
            clips = place.clips
        else:
            window = ClipPart((rectangle(0, 0, w, h, 0, 0),), matrix, "nonzero", None)
            clips = (*place.clips, self._new_clip((window,), None))
        if box is None:
            return replace(place, matrix=matrix, size=(w, h), clips=clips)
        fit = fit_view_box(box, w, h, element.get("preserveAspectRatio") or "xMidYMid meet")
        return replace(place, matrix=matrix @ fit, size=(box[2], box[3]), clips=clips)

    def _note_shape(self, element: etree._Element, place: Place) -> None:
        subpaths = subpaths_of(element, place.size, self.shelf.warn)
        for sub in subpaths:
            reach = float(np.abs(apply(place.matrix, sub.control())).max())
            if not reach <= 1e6:
                raise self.complain(element, f"reaches out to {reach:.3g} (at most 1e6)")
        if not subpaths:
            return
        label, own_id = editor_label(element), element.get("id")
        labels = (*place.labels, *(text for text in (own_id, label) if text))
        self.shelf.n_points += sum(len(sub.parts) + 1 for sub in subpaths)
        if self.shelf.n_points > MOST_POINTS:
            raise self.complain(element, f"more than {MOST_POINTS} points; simplify some")
        if len(self.shapes) >= MOST_SHAPES:
            many = f"more than {MOST_SHAPES} shapes; unite or delete some"
            endless = "copies of copies never end; expand them"
            raise self.complain(element, endless if place.used else many)
        self.shapes.append(
            FoundShape(element, tuple(subpaths), place, labels, label or own_id or "")
        )

    def _new_clip(self, parts: tuple[ClipPart, ...], outer: Clip | None) -> Clip:
        self.n_clips += 1
        return Clip(f"pb-clip-{self.n_clips}", parts, outer)

    def chained(self, clip: Clip, outer: Clip) -> Clip:
        """Both clips at once, as one."""
        last = outer if clip.outer is None else self.chained(clip.outer, outer)
        return self._new_clip(clip.parts, last)

    def _clip(self, name: str, element: etree._Element, place: Place) -> Clip | None:
        clip_path = self.shelf.by_id.get(name)
        if clip_path is None or local_name(clip_path) != "clipPath":
            self.shelf.warn(f"clip path '{name}' does not exist; ignored")
            return None
        if clip_path in place.used:
            raise self.complain(element, f"clip path '{name}' clips itself")
        matrix = place.matrix
        if clip_path.get("clipPathUnits") == "objectBoundingBox":
            points = self._extent(element, place)
            if points is None:
                return None
            matrix = matrix @ unit_box(points)
        own = declarations(clip_path, self.shelf.rules)
        inside = replace(
            place,
            matrix=matrix @ transform(own.get("transform")),
            style=inherited(inherited(INITIAL, {}), own),
            clips=(),
            hidden=False,
            used=(*place.used, clip_path),
        )
        found = reference(own.get("clip-path"))
        outer = self._clip(found[0], element, inside) if found else None
        walker = Walker(
            self.source, self.shelf, n_copied=self.n_copied, n_clips=self.n_clips
        )
        for child in clip_path:
            walker.visit(child, inside)
        parts = tuple(_clip_part(shape, walker) for shape in walker.shapes)
        self.n_clips, self.n_copied = walker.n_clips, walker.n_copied
        return self._new_clip(tuple(part for part in parts if part), outer)

    def _extent(self, element: etree._Element, place: Place) -> Points | None:
        """Points that span the bounding box of an element in its own frame."""
        walker = Walker(self.source, self.shelf, n_copied=self.n_copied, is_measuring=True)
        bare = replace(place, matrix=np.eye(3), clips=(), used=(*place.used, element))
        if local_name(element) in SHAPES:
            walker._note_shape(element, bare)
        else:
            walker._visit_group(element, local_name(element), bare)
        found = []
        for shape in walker.shapes:
            for sub in shape.subpaths:
                moved = sub.moved(shape.place.matrix)
                size = float(np.ptp(moved.control(), axis=0).max()) or 1.0
                found.append(moved.flat(1e-5 * size))
        self.n_copied = walker.n_copied
        return np.concatenate(found) if found else None


def _clip_part(shape: FoundShape, walker: Walker) -> ClipPart | None:
    place = shape.place
    if place.hidden or place.style["visibility"] != "visible":
        return None
    inner: Clip | None = None
    for clip in place.clips:
        inner = clip if inner is None else walker.chained(clip, inner)
    return ClipPart(shape.subpaths, place.matrix, place.style["clip-rule"], inner)
