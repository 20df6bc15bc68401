"""Pieces that keep clear of others, or of a limb: they may not pass over it on the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry.base import BaseGeometry

from panelbeater.geometry.overlay import joined, shared_areas
from panelbeater.paths.crowd import Crowd
from panelbeater.paths.options import PathOptions
from panelbeater.terms.arrays import Flags, Floats, Points
from panelbeater.terms.figure import BONE_TREE


@dataclass(frozen=True, slots=True, eq=False)
class Clearance:
    """A piece that gives way to another, or to a limb."""

    piece: int
    other: int | None
    """The other piece; None where it is a limb."""
    bones: tuple[int, ...]
    """Of the limb; none where it is a piece."""
    is_mutual: bool
    """The other piece gives way, too."""
    barred: Flags
    """(n_moments,), when the two may not overlap."""
    crosses: Flags
    """(n_moments,), when they would if nothing were led."""

    @property
    def givers(self) -> tuple[int, ...]:
        """The pieces that may be led for it."""
        if self.is_mutual and self.other is not None:
            return (self.piece, self.other)
        return (self.piece,)

    def lever(self, n_pieces: int) -> Floats:
        """(n_pieces,), how each piece's move parts the two: 1, -1 or 0."""
        out = np.zeros(n_pieces)
        out[self.piece] = 1.0
        if self.is_mutual:
            out[self.other] = -1.0
        return out

    def two(
        self, crowd: Crowd, at: int, moves: Points
    ) -> tuple[BaseGeometry, BaseGeometry]:
        """The piece and what it keeps clear of at one moment; moves (n_pieces, 2)."""
        piece = crowd.shape(at, self.piece, moves[self.piece])
        if self.other is not None:
            return piece, crowd.shape(at, self.other, moves[self.other])
        return piece, joined([crowd.bodies[at][bone] for bone in self.bones])

    def overlaps(self, crowd: Crowd, moves: Points, options: PathOptions) -> Flags:
        """(n_moments,), when the two overlap; moves (n_moments, n_pieces, 2)."""
        both = [self.two(crowd, at, moves[at]) for at in range(len(moves))]
        one, other = np.array(both, dtype=object).T
        out: Flags = shared_areas(one, other) > options.clear_area * crowd.height**2
        return out


def find_clearances(
    wanted: Mapping[str, Sequence[str]],
    pieces: Sequence[str],
    crowd: Crowd,
    options: PathOptions,
) -> tuple[Clearance, ...]:
    """What is wanted, piece by piece, as far as it can be asked of these paths.

    Two that overlap in the vehicle may do so until they part, two that overlap on the robot
    from when they meet for good. Two that never part keep clear at no moment.
    """
    out = []
    still = np.zeros((len(crowd.placed), crowd.placed.shape[1], 2))
    for name, others in sorted(wanted.items()):
        for other in others:
            at = pieces.index(other) if other in pieces else None
            bones = () if at is not None else bones_of(other)
            mutual = at is not None and name in wanted.get(other, ())
            if mutual and name > other:  # told already
                continue
            never = np.zeros(len(crowd.placed), dtype=np.bool_)
            pair = Clearance(pieces.index(name), at, bones, mutual, never, never)
            meets = pair.overlaps(crowd, still, options)
            barred = _between_first_and_last(~meets)
            out.append(replace(pair, barred=barred, crosses=meets & barred))
    return tuple(out)


def _between_first_and_last(apart: Flags) -> Flags:
    out = np.zeros_like(apart)
    if apart.any():
        first, last = np.flatnonzero(apart)[[0, -1]].tolist()
        out[first : last + 1] = True
    return out


def bones_of(limb: str) -> tuple[int, ...]:
    """Bones of a region, or of a whole limb."""
    return tuple(k for k, (bone, _, part) in enumerate(BONE_TREE) if limb in (bone, part))


def way_off(one: BaseGeometry, other: BaseGeometry, margin: float, least: float) -> Points:
    """(2,), the smallest of four moves that takes one shape off the other, and `margin`
    further; nothing where they share no more than an area of `least`.
    """
    both = shapely.intersection(one, other)
    if both.area <= least:
        return np.zeros(2)
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(both))
    across, along = corners[1] - corners[0], corners[2] - corners[1]
    ways = np.array([across, -across, along, -along])
    lengths = np.hypot(ways[:, 0], ways[:, 1])
    moved = [shapely.affinity.translate(one, *way) for way in ways]
    left = np.maximum(shared_areas(moved, [other] * len(ways)), least)
    best = int(np.lexsort((lengths, left))[0])
    out: Points = ways[best] * (1 + margin / lengths[best])
    return out
