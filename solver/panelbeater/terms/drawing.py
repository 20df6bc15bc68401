"""The vehicle artwork and its cut-out pieces."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from shapely import MultiPolygon, Polygon

Kind = Literal["wheel", "window", "panel", "bumper", "lamp", "other"]
KINDS: tuple[Kind, ...] = ("wheel", "window", "panel", "bumper", "lamp", "other")
Shape = Polygon | MultiPolygon


@dataclass(frozen=True, slots=True)
class Allowance:
    """How far a piece may be changed; every number is a ratio of the drawn size."""

    scale_min: float = 0.7
    """Smallest uniform scale in the last frame."""
    scale_max: float = 1.4
    """Largest uniform scale in the last frame."""
    dip_min: float = 0.55
    """Smallest uniform scale at any frame (the secret shrink in mid-motion)."""
    stretch_max: float = 1.35
    """Largest ratio of the long to the short axis of the end transform (1 = rigid)."""
    bend_max: float = 1.5
    """Largest ratio of local stretch that bending may cause anywhere in the piece; 1 is
    none."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the animator insists on for one piece."""

    pin: str | None = None
    """Region id the piece must cover."""
    bans: tuple[str, ...] = ()
    """Region ids the piece must not cover."""
    stow: bool = False
    """It may end hidden, behind the body or shrunk away."""


@dataclass(frozen=True, slots=True, eq=False)
class Redrawing:
    """A second drawing of a piece, for the robot; it takes the first one's place at once.

    Kept in drawing coordinates with its centroid on the drawn piece's centroid, so that
    every placement and bend of the piece holds for both.
    """

    outline: Shape
    artwork: str
    """SVG elements, as in `Piece`; gradients are in `Drawing.defs`."""
    colour: str = "#888888"
    source: str = ""
    """Its file, for writing the piece list; not part of a plan."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One cut-out part of the vehicle, where it stands in the drawing."""

    id: str
    """Unique, readable, matches [A-Za-z0-9_.-]+."""
    kind: Kind
    outline: Shape
    """Valid polygon(s), drawing units, stage frame: where the piece stands in the vehicle.
    """
    depth: int
    """Stacking in the drawing; 0 is farthest, larger is nearer the viewer; unique."""
    artwork: str
    """SVG elements that paint the piece in drawing coordinates (absolute, transforms
    resolved into `transform` attributes); gradients and clips are referred to by ids in
    `Drawing.defs`.
    """
    colour: str = "#888888"
    """Main fill as #rrggbb, for flat views."""
    signature: bool = False
    """True when the vehicle is recognised by it and it must stay readable in the robot."""
    mirror: str | None = None
    """Id of the piece that answers this one (front and rear wheel, say)."""
    cut_from: str | None = None
    """Id of the drawn shape this piece was cut from, when the tool had to cut it."""
    allowance: Allowance = field(default_factory=Allowance)
    wishes: Wishes = field(default_factory=Wishes)
    redrawn: Redrawing | None = None
    """Its drawing on the robot, where the animator gives one."""

    @property
    def worn(self) -> Shape:
        """The outline it ends with, before bending and placement, where it is drawn."""
        return self.outline if self.redrawn is None else self.redrawn.outline


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """The whole vehicle: pieces in stacking order, far to near."""

    pieces: tuple[Piece, ...]
    silhouette: Shape
    """Union of all outlines."""
    defs: str = ""
    """SVG <defs> children (gradients, clip paths) that the artwork refers to; ids are
    prefixed.
    """
    source: str = ""
    warnings: tuple[str, ...] = ()
