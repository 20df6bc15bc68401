"""What a piece can look like on the way: its two drawings, each straight or bent."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from panelbeater.exports.artwork import safe_markup
from panelbeater.exports.bent import (
    BentArt,
    bent_art,
    gradient_markup,
    mark_data,
    mark_paint,
    seam_mark,
)
from panelbeater.exports.marks import Mark, read_artwork
from panelbeater.geometry.bending import bend_shape
from panelbeater.geometry.stage import drawn_centroids
from panelbeater.svg.outlines import Fineness
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.bend import Bend
from panelbeater.terms.drawing import Piece, Shape
from panelbeater.terms.rig import Rig

SEAM = 0.003
"""Width of a panel gap where the tool cut a piece, share of the vehicle's longer side."""


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """One of the two drawings of a piece."""

    name: str
    """Short and unique: a3 for the first drawing of piece 3, b3 for its robot drawing."""
    markup: str
    """Straight, as SVG in drawing coordinates."""
    bent: BentArt | None = None

    @property
    def defs(self) -> str:
        """Gradients that the bent marks are painted with."""
        marks = self.bent.marks if self.bent else ()
        return "".join(
            gradient_markup(mark.gradient, self.gradient_id(k))
            for k, mark in enumerate(marks)
            if mark.gradient
        )

    def gradient_id(self, mark: int) -> str:
        """Id of the gradient of one bent mark."""
        return f"{self.name}-shade-{mark}"

    def at(self, share: float, decimals: int) -> str:
        """The drawing as SVG at one share of its bend."""
        return self.paths(lambda _, mark: ("", mark_data(mark, decimals), ""), share)

    def paths(
        self, words: Callable[[int, Mark], tuple[str, str, str]], share: float = 0.0
    ) -> str:
        """One path a mark; `words` gives more attributes, the path data and what stands
        inside the element, by number and mark. Straight drawings stay as they are.
        """
        if self.bent is None:
            return self.markup
        out = ""
        for k, mark in enumerate(self.bent.at(share)):
            more, data, inside = words(k, mark)
            out += f'<path{more} d="{data}" {mark_paint(mark, self.gradient_id(k))}'
            out += f">{inside}</path>" if inside else "/>"
        return out


@dataclass(frozen=True, slots=True, eq=False)
class Looks:
    """All drawings of all pieces."""

    first: tuple[Drawn, ...]
    worn: tuple[Drawn | None, ...]
    """None where the piece keeps its first drawing."""

    def of(self, piece: int, *, redrawn: bool) -> Drawn:
        """The drawing that is shown before or after the swap."""
        return (self.worn[piece] if redrawn else None) or self.first[piece]

    def groups(self, piece: int, decimals: int) -> str:
        """A group for each drawing of a piece, the robot's hidden, both straight."""
        first, worn = self.first[piece], self.worn[piece]
        groups = f"<g>{first.at(0.0, decimals)}</g>"
        if worn is not None:
            groups += f'<g style="display:none">{worn.at(0.0, decimals)}</g>'
        return groups

    @property
    def defs(self) -> str:
        """What the bent drawings need on top of the vehicle's own definitions."""
        return "".join(drawn.defs for drawn in (*self.first, *self.worn) if drawn)


def read_looks(rig: Rig, decimals: int) -> Looks:
    """Clean the artwork. Raises DrawingError where it is not well-formed."""
    first: list[Drawn] = []
    worn: list[Drawn | None] = []
    for i, piece in enumerate(rig.drawing.pieces):
        first.append(_drawn(rig, i, piece, f"a{i}", decimals))
        art = piece.redrawn
        if art is None:
            worn.append(None)
            continue
        again = replace(piece, outline=art.outline, artwork=art.artwork)
        worn.append(_drawn(rig, i, again, f"b{i}", decimals))
    return Looks(tuple(first), tuple(worn))


def _drawn(rig: Rig, i: int, piece: Piece, name: str, decimals: int) -> Drawn:
    seams = _seam(piece, rig)
    markup = safe_markup(piece.artwork, owner=f"piece '{piece.id}'", keep_ids=False)
    markup += "".join(
        f'<path d="{mark_data(mark, decimals)}" {mark_paint(mark, "")}/>' for mark in seams
    )
    bend = rig.tracks[i].bend
    if bend is None:
        return Drawn(name, markup)
    marks = read_artwork(replace(rig.drawing, pieces=(piece,))).pieces[0]
    return Drawn(name, markup, bent_marks(rig, i, bend, [*marks, *seams]))


def bent_marks(rig: Rig, i: int, bend: Bend, marks: list[Mark]) -> BentArt:
    """The marks of one piece, made ready to bend."""
    x0, y0, x1, y1 = rig.drawing.silhouette.bounds
    fineness = Fineness.suited_to(float(np.hypot(x1 - x0, y1 - y0)))
    centre = drawn_centroids([rig.drawing.pieces[i]])[0]
    return bent_art(marks, bend, centre, fineness)


def _seam(piece: Piece, rig: Rig) -> list[Mark]:
    """A faint panel gap round a piece the tool had to cut: plates of one colour would
    otherwise melt into each other on the robot.
    """
    if piece.cut_from is None:
        return []
    x0, y0, x1, y1 = rig.drawing.silhouette.bounds
    return [seam_mark(piece.outline, SEAM * max(x1 - x0, y1 - y0))]


def all_shapes(rig: Rig, i: int) -> list[Shape]:
    """What bounds a piece, whichever way it looks: its drawings, from straight to bent."""
    piece, bend = rig.drawing.pieces[i], rig.tracks[i].bend
    drawings = [piece.outline, *([piece.redrawn.outline] if piece.redrawn else [])]
    if bend is None:
        return drawings
    centre: Points = drawn_centroids([piece])[0]
    shares: Floats = np.linspace(0, 1, 5)
    return [
        bend_shape(bend, outline, share, centre=centre)
        for outline in drawings
        for share in shares.tolist()
    ]
