"""Which drawn shapes belong together as one piece."""

from __future__ import annotations

from dataclasses import dataclass, replace

import shapely

from panelbeater.drawing.names import is_given
from panelbeater.svg import SvgGroup, SvgShape, areas_of
from panelbeater.terms.drawing import Shape

CARRIER = 0.6
"""A group is one piece when one of its shapes carries it: at least this share of its area.
A door with glass and handle measures 0.8 and more, a row of separate parts 0.5 and less."""


@dataclass(frozen=True, slots=True, eq=False)
class Draft:
    """A piece in the making."""

    name: str
    """As given in the file; empty when nobody named it."""
    order: float
    """Place in the paint order: far to near."""
    outline: Shape
    artwork: str
    colour: str
    """Fill of its largest shape."""
    colour_area: float
    opacity: float
    n_shapes: int = 1

    def joined(self, other: Draft, *, order: float) -> Draft:
        """Both drafts as one, at `order`, its artwork in paint order."""
        first, second = sorted((self, other), key=lambda draft: draft.order)
        main = self if self.colour_area >= other.colour_area else other
        name = self.name or other.name
        return Draft(
            name=name,
            order=order,
            outline=areas_of(shapely.union_all([self.outline, other.outline])),
            artwork=first.artwork + second.artwork,
            colour=main.colour,
            colour_area=main.colour_area,
            opacity=max(self.opacity, other.opacity),
            n_shapes=self.n_shapes + other.n_shapes,
        )


def _draft_of(shape: SvgShape, order: int) -> Draft:
    colour = shape.fill if shape.fill != "none" else shape.stroke
    return Draft(
        name=shape.name if is_given(shape.name) else "",
        order=float(order),
        outline=shape.outline,
        artwork=shape.markup,
        colour=colour,
        colour_area=shape.outline.area,
        opacity=shape.opacity,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Bundle:
    """The shapes inside one group that are still to be told apart."""

    shapes: list[tuple[int, SvgShape]]
    level: int
    """How many of the outermost groups round them are dealt with."""

    def children(self) -> list[tuple[SvgGroup | None, _Bundle]]:
        """Its groups and single shapes, in paint order."""
        found: dict[object, tuple[SvgGroup | None, _Bundle]] = {}
        for order, shape in self.shapes:
            group = shape.groups[self.level] if len(shape.groups) > self.level else None
            key: object = ("group", group.key) if group else ("shape", order)
            if key not in found:
                found[key] = (group, _Bundle([], self.level + (group is not None)))
            found[key][1].shapes.append((order, shape))
        return list(found.values())

    def outline(self) -> Shape:
        return areas_of(shapely.union_all([shape.outline for _, shape in self.shapes]))


def gather(shapes: list[SvgShape]) -> list[Draft]:
    """Drafts for all painted shapes, given in paint order.

    A group with a given name is one piece unless it only wraps others; everything else
    falls apart into its shapes.
    """
    everything = _Bundle(list(enumerate(shapes)), 0)
    return sorted(_split(everything, len(shapes)), key=lambda draft: draft.order)


def _split(bundle: _Bundle, n_all: int) -> list[Draft]:
    drafts: list[Draft] = []
    for group, child in bundle.children():
        if group is None:
            drafts += [_draft_of(shape, order) for order, shape in child.shapes]
        elif _is_one_piece(group, child, n_all):
            drafts += _whole(group, child)
        else:
            drafts += _split(child, n_all)
    return drafts


def _whole(group: SvgGroup, bundle: _Bundle) -> list[Draft]:
    drafts = [_draft_of(shape, order) for order, shape in bundle.shapes]
    whole = drafts[0]
    for draft in drafts[1:]:
        whole = whole.joined(draft, order=draft.order)
    # Its depth is that of its largest shape: what is drawn over that lies over the piece.
    main = max(drafts, key=lambda draft: (draft.colour_area, -draft.order))
    return [replace(whole, name=group.name, order=main.order)]


def _is_one_piece(group: SvgGroup, bundle: _Bundle, n_all: int) -> bool:
    if not is_given(group.name) or (len(bundle.shapes) == n_all and n_all > 1):
        return False
    named = [
        child
        for inner, child in bundle.children()
        if is_given(inner.name if inner else child.shapes[0][1].name)
    ]
    groups = [child for inner, child in bundle.children() if inner and is_given(inner.name)]
    whole = bundle.outline()
    carried = max(shape.outline.area for _, shape in bundle.shapes) >= CARRIER * whole.area
    if group.is_layer and len(named) >= 2:
        return carried and not groups
    is_apart = len(shapely.get_parts(whole)) > 1
    return carried or len(groups) < (2 if is_apart else 3)
