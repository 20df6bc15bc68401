"""Where a shape stands among the groups of its file, and what they hand down to it."""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from panelbeater.svg.clips import Clip
from panelbeater.svg.nouns import SvgGroup
from panelbeater.svg.paths import Subpath
from panelbeater.terms.arrays import Affines


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """What the groups round an element hand down to it."""

    matrix: Affines
    """(3, 3), root user units from the element's own."""
    style: dict[str, str]
    size: tuple[float, float]
    """Width and height of the nearest viewport, for percentages."""
    opacity: float = 1.0
    hidden: bool = False
    clips: tuple[Clip, ...] = ()
    groups: tuple[SvgGroup, ...] = ()
    labels: tuple[str, ...] = ()
    used: tuple[etree._Element, ...] = ()
    levels: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class FoundShape:
    """One shape element before its outline is worked out."""

    element: etree._Element
    subpaths: tuple[Subpath, ...]
    place: Place
    labels: tuple[str, ...]
    name: str
