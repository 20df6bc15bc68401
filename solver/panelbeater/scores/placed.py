"""One piece of a finished layout, and what was asked of it: all that the rules judge."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

Shape = BaseGeometry
_ANSWERS = {"l": "r", "r": "l"}


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """One piece of the finished plan and what was asked of it."""

    piece: str
    region: str
    kind: str = "other"
    mirror: str | None = None
    """Id of the piece that answers this one."""
    pin: str | None = None
    """Region the animator insists on."""
    bans: tuple[str, ...] = ()
    """Regions the animator rules out."""
    scale: float = 1.0
    """In the last frame, 1 is as drawn."""
    colour: str = "#888888"
    """Main paint, #rrggbb."""
    drawn: Shape | None = None
    """Where it stands in the vehicle, stage frame."""
    laid: Shape | None = None
    """Where it lies in the last frame."""
    drawn_depth: int = 0
    """Place in the stack of the drawing; larger is nearer the viewer."""
    depth: int = 0
    """The same in the last frame."""
    turn: float = 0.0
    """Radians between the two."""
    stowed: bool = False
    may_stow: bool = False

    @property
    def area(self) -> float:
        """Drawn area; 0 when no outline is known."""
        return float(self.drawn.area) if self.drawn is not None else 0.0


def mirror_region(region: str) -> str:
    """The region on the other side: `foot_r` for `foot_l`; a middle one answers itself."""
    name, _, side = region.rpartition("_")
    return f"{name}_{_ANSWERS[side]}" if name and side in _ANSWERS else region


def stem(region: str) -> str:
    """The region without its side."""
    name, _, side = region.rpartition("_")
    return name if name and side in _ANSWERS else region


def mismatch(both: Sequence[Placed], one_paint: int) -> float:
    """Drawn area, by kind and paint, that one of two twin limbs wears more of.

    one_paint : steps of a colour channel, of 255, within which two paints read as one.
    """
    apart: dict[tuple[str, int, int, int], float] = defaultdict(float)
    for cover in both:
        paint = [int(cover.colour[i : i + 2], 16) // max(one_paint, 1) for i in (1, 3, 5)]
        sign = 1 if cover.region.endswith("_l") else -1
        apart[(cover.kind, paint[0], paint[1], paint[2])] += sign * cover.area
    return sum(abs(area) for area in apart.values())
