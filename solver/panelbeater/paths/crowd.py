"""All pieces and bare bodies over the shot, at every eighth of a frame."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry.base import BaseGeometry

from panelbeater.geometry.frames import map_shapes
from panelbeater.kinematics.moments import with_between
from panelbeater.terms.arrays import Affines, Floats, Points

PARTS = 8
"""Moments a frame that can be looked at; an even number."""
NEGLIGIBLE = 1e-6
"""Moves smaller than this share of the height change no verdict: what is promised is a
hundred times as much off.
"""


@dataclass(frozen=True, slots=True, eq=False)
class Crowd:
    """All pieces and bare bodies over the shot, before any correction.

    Moments are eighths of frames: n_moments = PARTS (n_frames - 1) + 1, and moment
    PARTS k is frame k.
    """

    outlines: tuple[tuple[BaseGeometry, ...], ...]
    """(n_frames)(n_pieces) in their own frames, simplified."""
    placed: Affines
    """(n_moments, n_pieces, 3, 3) stage_from_piece."""
    bodies: tuple[tuple[BaseGeometry, ...], ...]
    """(n_moments)(n_bones) on the stage."""
    ground: float
    height: float
    turns: Floats
    """(n_moments, n_pieces), stage angles of the bones that the pieces ride."""
    shares: Floats
    """(n_frames - 1, PARTS - 1, n_pieces), how far a piece has come on the way to the next
    frame."""

    def in_between(self, moves: Points) -> Points:
        """(n_moments, n_pieces, 2), stage moves (n_frames, n_pieces, 2) as in-betweened:
        straight in the frames of the bones, which turn.
        """
        on_bones = _turned(moves, -self.turns[::PARTS])
        return _turned(with_between(on_bones, PARTS, self.shares[..., None]), self.turns)

    def shape(self, at: int, piece: int, move: Points) -> BaseGeometry:
        """A piece at one moment, moved on the stage."""
        placed = self.placed[at, piece].copy()
        placed[:2, 2] += move
        return map_shapes(placed[None], [self.outlines[at // PARTS][piece]])[0]

    def led(self, moves: Points) -> Crowd:
        """The same with all pieces moved, (n_frames, n_pieces, 2) on the stage."""
        placed = self.placed.copy()
        placed[..., :2, 2] += self.in_between(moves)
        return replace(self, placed=placed)


def _turned(moves: Points, angles: Floats) -> Points:
    cos, sin = np.cos(angles), np.sin(angles)
    x, y = moves[..., 0], moves[..., 1]
    return np.stack([cos * x - sin * y, sin * x + cos * y], axis=-1)
