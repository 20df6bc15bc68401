"""What a vector drawing holds once its file format is out of the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from panelbeater.terms.drawing import Shape

Line: TypeAlias = tuple[tuple[float, float], ...]
"""Two or more points, user units of the root view box, y down."""


@dataclass(frozen=True, slots=True)
class SvgGroup:
    """One group round a shape, so that shapes drawn together can be kept together."""

    key: int
    """Unique within the drawing; equal keys mean the very same group."""
    name: str
    """The editor's label, else the id, else empty."""
    is_layer: bool = False
    """True when the editor marked it as a layer."""


@dataclass(frozen=True, slots=True, eq=False)
class SvgShape:
    """One painted element; lengths and coordinates in user units of the root view box."""

    id: str | None
    """Its own id in the file."""
    labels: tuple[str, ...]
    """Ids and editor labels of all groups round it, outermost first, its own last."""
    outline: Shape
    """Everything it paints: filled area united with the stroke, clipped; valid. Empty when
    nothing is painted (an unstroked line, say)."""
    fill_outline: Shape
    """The filled area alone, clipped; empty when `fill` is "none"."""
    fill: str
    """#rrggbb, or "none"; a gradient counts as its mean colour."""
    stroke: str
    """#rrggbb, or "none"."""
    opacity: float
    """0 to 1: its own opacity times that of the groups round it and of its paint."""
    markup: str
    """SVG elements that paint it in root user units; ids refer to `SvgDrawing.defs`."""
    hidden: bool
    """True when the file does not show it (display none, visibility hidden)."""
    name: str = ""
    """Its own editor label, else its own id, else empty."""
    lines: tuple[Line, ...] = ()
    """Its open strokes as points (a drawn bone is one line), even when it is hidden."""
    groups: tuple[SvgGroup, ...] = ()
    """The groups round it, outermost first."""


@dataclass(frozen=True, slots=True, eq=False)
class SvgDrawing:
    """All shapes of one file in paint order, first painted first."""

    shapes: tuple[SvgShape, ...]
    """Hidden and unpainted ones included."""
    defs: str
    """Children of <defs> that the markup refers to; every id starts with `pb-`."""
    view_box: tuple[float, float, float, float]
    """x, y, width, height in user units."""
    source: str
    """File name, for messages."""
    warnings: tuple[str, ...] = ()
