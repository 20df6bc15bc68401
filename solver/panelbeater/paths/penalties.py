"""What is wrong with where led pieces are: too near, loose, or below ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from panelbeater.paths.clear import Clearance
from panelbeater.paths.crowd import PARTS, Crowd
from panelbeater.paths.fields import (
    Field,
    Thing,
    carriers_at,
    limb_at,
    piece_at,
)
from panelbeater.paths.options import PathOptions
from panelbeater.terms.arrays import Floats, Ints, Points


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """Points of one thing that come nearer to another than they should."""

    points: Points
    """(n_rows, N_POINTS, 2), before anything is led, stage frame."""
    other: Field
    margin: float

    def at(self, shift: Points) -> tuple[Floats, Points]:
        """Penalty (n_rows, ...) and slope (n_rows, ..., 2) where the points are shifted by
        (n_rows, ..., 2).
        """
        distance, slope = self.other.look_up(_shifted(self.points, shift))
        short = np.maximum(self.margin - distance, 0.0)
        return (short**2).sum(axis=-1), -2 * (short[..., None] * slope).sum(axis=-2)


@dataclass(frozen=True, slots=True, eq=False)
class Loose:
    """A led piece that comes off all that may carry it."""

    points: Points
    carriers: Field
    overlap: float
    """It should reach so far into what carries it."""

    def at(self, shift: Points) -> tuple[Floats, Points]:
        """As `Near.at`."""
        distance, slope = self.carriers.look_up(_shifted(self.points, shift))
        nearest = distance.argmin(axis=-1)[..., None]
        gap = np.take_along_axis(distance, nearest, axis=-1)[..., 0] + self.overlap
        gap = np.maximum(gap, 0.0)
        lean = np.take_along_axis(slope, nearest[..., None], axis=-2)[..., 0, :]
        return gap**2, 2 * gap[..., None] * lean


@dataclass(frozen=True, slots=True, eq=False)
class Sunk:
    """A led piece that reaches into the ground."""

    points: Points
    ground: float

    def at(self, shift: Points) -> tuple[Floats, Points]:
        """As `Near.at`."""
        lowest = self.points[..., 1].max(axis=-1).reshape(-1, *[1] * (shift.ndim - 2))
        deep = np.maximum(lowest + shift[..., 1] - self.ground, 0.0)
        return deep**2, np.stack([np.zeros_like(deep), 2 * deep], axis=-1)


@dataclass(frozen=True, slots=True, eq=False)
class Penalty:
    """Something that may be wrong at some moments, and who can mend it."""

    fault: Near | Loose | Sunk
    rows: Ints
    """(n_rows,), which moments."""
    lever: Floats
    """(n_led,), how the led pieces' moves shift it: 1, -1 or 0."""

    def at(self, moves: Points) -> tuple[Floats, Points]:
        """Penalty (n_moments, ...) and slope (n_moments, n_led, ..., 2) at moves
        (n_moments, n_led, ..., 2).
        """
        shift = np.tensordot(self.lever, moves[self.rows], axes=(0, 1))
        bad, slope = np.zeros((len(moves), *moves.shape[2:-1])), np.zeros_like(moves)
        bad[self.rows], pull = self.fault.at(shift)
        slope[self.rows] = np.stack([share * pull for share in self.lever], axis=1)
        return bad, slope


def penalties(
    crowd: Crowd,
    clear: Sequence[Clearance],
    led: Sequence[int],
    at: Ints,
    options: PathOptions,
) -> list[Penalty]:
    """All that is asked of a cluster of led pieces at moments `at`: clear of what is wished
    at all of them, carried and above ground at the frames.
    """
    frames = np.flatnonzero(at % PARTS == 0)
    barred = [
        {b for pair in clear if pair.barred[m] for b in pair.bones} for m in at[frames]
    ]
    things = {piece: piece_at(crowd, piece, at) for piece in led}
    carriers = carriers_at(crowd, led, barred, at[frames])
    margin, overlap = options.clear_margin * crowd.height, options.overlap * crowd.height
    out = []
    for pair in clear:
        lever = pair.lever(crowd.placed.shape[1])[list(led)]
        rows = np.flatnonzero(pair.barred[at])
        one, other = things[pair.piece].during(rows), _other(crowd, pair, at[rows])
        out += [
            Penalty(Near(one.points, other.field, margin), rows, lever),
            Penalty(Near(other.points, one.field, margin), rows, -lever),
        ]
    for piece, lever in zip(led, np.eye(len(led)), strict=True):
        points = things[piece].points[frames]
        out += [
            Penalty(Loose(points, carriers, overlap), frames, lever),
            Penalty(Sunk(points, crowd.ground), frames, lever),
        ]
    return out


def _other(crowd: Crowd, pair: Clearance, at: Ints) -> Thing:
    """What the piece keeps clear of, before it is led."""
    if pair.other is None:
        return limb_at(crowd, pair.bones, at)
    return piece_at(crowd, pair.other, at)


def moments_of(first: int, last: int) -> Ints:
    """Frames from `first` to before `last`, and the half-ways all round them."""
    step = PARTS // 2
    return np.arange(PARTS * first - step, PARTS * (last - 1) + step + 1, step)


def _shifted(points: Points, shift: Points) -> Points:
    """(n_moments, ..., n_points, 2) from points (n_moments, n_points, 2) and shifts
    (n_moments, ..., 2).
    """
    lone = (len(points), *[1] * (shift.ndim - 2), *points.shape[1:])
    out: Points = points.reshape(lone) + shift[..., None, :]
    return out
