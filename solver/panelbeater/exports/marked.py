"""Both drawings of every piece as marks, for formats that paint them themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from panelbeater.exports.bent import BentArt
from panelbeater.exports.looks import bent_marks
from panelbeater.exports.marks import Artwork, Mark, read_artwork
from panelbeater.terms.rig import Rig


@dataclass(frozen=True, slots=True, eq=False)
class MarkedPieces:
    """Marks by piece; where a piece keeps its first drawing the robot's are empty."""

    first: tuple[tuple[Mark, ...], ...]
    worn: tuple[tuple[Mark, ...], ...]
    bent: Mapping[tuple[int, bool], BentArt]
    """By piece and whether it is redrawn, for pieces that bend."""
    notes: tuple[str, ...]
    """What could not be said in marks."""

    def of(self, piece: int, *, redrawn: bool) -> tuple[Mark, ...]:
        """Marks of one drawing, straight; of one that bends, fit for bending."""
        art = self.bent.get((piece, redrawn))
        return art.marks if art else (self.worn if redrawn else self.first)[piece]


def read_marks(rig: Rig) -> MarkedPieces:
    """Both drawings of every piece as marks. Raises DrawingError as `read_artwork` does."""
    drawing = rig.drawing
    again = tuple(
        replace(piece, artwork=piece.redrawn.artwork if piece.redrawn else "")
        for piece in drawing.pieces
    )
    first, worn = read_artwork(drawing), read_artwork(replace(drawing, pieces=again))
    return MarkedPieces(
        first.pieces,
        worn.pieces,
        {**_bent(rig, first, redrawn=False), **_bent(rig, worn, redrawn=True)},
        tuple(dict.fromkeys([*first.notes, *worn.notes])),
    )


def _bent(rig: Rig, art: Artwork, *, redrawn: bool) -> dict[tuple[int, bool], BentArt]:
    return {
        (i, redrawn): bent_marks(rig, i, track.bend, list(marks))
        for i, (track, marks) in enumerate(zip(rig.tracks, art.pieces, strict=True))
        if track.bend is not None and marks
    }
