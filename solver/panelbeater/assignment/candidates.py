"""A piece in its own frame: how it may lie, and what of it the vehicle shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from panelbeater.assignment.likeness import ALIKE, likeness
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.geometry.frames import map_shape, moved, rigid
from panelbeater.geometry.overlay import joined, without
from panelbeater.geometry.stage import laid_outline
from panelbeater.terms.arrays import Affines, Flags, Floats
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing, Piece, Shape
from panelbeater.terms.figure import BONE_IDS

FINE = 160
"""Side of the table that tells whether a spot lies on a piece."""
ROUND = 0.9
"""4 pi area / perimeter^2 from which a piece needs no turning."""
HAIR = 1e-9
"""Sizes and stretches that pass through logarithms and back are off by less."""
N_STRETCHES = 9
"""Stretches a piece is looked at in to find how much it bears."""
SAME_TURN = np.radians(4.0)
"""Edges whose directions differ by less are one direction."""


@dataclass(frozen=True, slots=True, eq=False)
class Placement:
    """One way to lay one piece on one region."""

    piece: int
    region: int
    stage_from_piece: Affines
    scale: float
    stretch: float
    outline: Shape
    """On the stage."""
    score: float
    """What it was worth when it was found, share of the figure."""
    stowed: bool = False
    """It ends hidden in this limb and covers nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class PieceForm:
    """A piece in its own frame, with the axis it may be stretched along."""

    index: int
    outline: Shape
    axis: float
    """Radians of the long side of the tightest box."""
    extent: float
    """Radius about the centroid."""
    shapes: Floats
    """(n_shapes, 2): allowed scale and stretch pairs."""
    ways: Floats
    """(n_shapes, 2, 2): the linear parts they stand for."""
    keep_scale: float
    """A piece within this of its drawn size counts as kept."""
    keep_stretch: float
    """A piece stretched no more than this, or squeezed, counts as kept."""
    kept: Flags
    """(n_shapes,): the piece still looks as it did in the vehicle."""
    edges: Floats
    """(n_edges,): directions of its long straight edges, radians modulo pi, longest first;
    none for what is round or ragged."""

    @property
    def is_round(self) -> bool:
        """True when no turn looks different from another."""
        outline = self.outline
        return 4 * np.pi * outline.area > ROUND * outline.length**2

    @property
    def is_rigid(self) -> bool:
        """True when it may change neither size nor shape."""
        return len(self.shapes) == 1

    def is_kept(self, scale: float, stretch: float) -> bool:
        """True when the piece still looks as it did in the vehicle."""
        return _is_kept(scale, stretch, self.keep_scale, self.keep_stretch)


def piece_form(index: int, piece: Piece, options: AssignmentOptions) -> PieceForm:
    """Centre a piece on its centroid and list its allowed sizes and stretches."""
    centre = piece.outline.centroid
    outline = map_shape(moved(-centre.x, -centre.y), piece.worn)
    axis = long_axis(outline)
    reach = shapely.get_coordinates(outline)
    allowed = piece.allowance
    stiff = piece.signature or piece.kind == "wheel"
    most = 1.0 if stiff else allowed.stretch_max
    alike = _most_alike(outline, axis, min(most, options.keep_stretch))
    shapes = np.array(
        list(
            dict.fromkeys(
                (float(np.clip(s, allowed.scale_min, allowed.scale_max)),
                 float(np.clip(t, 1 / limit, limit)))
                for limit, some in ((alike, options.kept_shapes),
                                    (most, options.free_shapes))
                for s, t in some
            )
        )
    )  # fmt: skip
    ways = np.array([stretch_matrix(s, t, axis) for s, t in shapes])
    kept = [_is_kept(s, max(t, 1 / t), options.keep_scale, alike) for s, t in shapes]
    return PieceForm(
        index, outline, axis, float(np.hypot(*reach.T).max()), shapes, ways,
        options.keep_scale, alike, np.array(kept), straight_edges(outline),
    )  # fmt: skip


def _is_kept(scale: float, stretch: float, keep_scale: float, keep_stretch: float) -> bool:
    is_sized = abs(scale - 1) <= keep_scale + HAIR
    return bool(is_sized and stretch <= keep_stretch + HAIR)


def _most_alike(outline: Shape, axis: float, most: float) -> float:
    """The largest stretch up to `most`, along the axis or across it, after which the piece
    is known again: frames and hooks bear less than plates.
    """
    for stretch in np.linspace(most, 1.0, N_STRETCHES).tolist():
        ends = (np.eye(3), np.eye(3))
        ends[0][:2, :2] = stretch_matrix(1.0, stretch, axis)
        ends[1][:2, :2] = stretch_matrix(1.0, 1 / stretch, axis)
        if all(likeness(outline, map_shape(end, outline)) >= ALIKE for end in ends):
            return float(stretch)
    return 1.0


def long_axis(outline: Shape) -> float:
    """Radians of the long side of the tightest rectangle round an outline."""
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    sides = np.diff(box[:3], axis=0)
    side = sides[np.argmax(np.hypot(sides[:, 0], sides[:, 1]))]
    return float(np.arctan2(side[1], side[0]))


def straight_edges(outline: Shape, n_most: int = 4, least: float = 0.12) -> Floats:
    """(n_edges,): directions modulo pi that make up at least `least` of the outline."""
    found: list[tuple[float, float]] = []
    for part in shapely.get_parts(outline):
        for ring in (part.exterior, *part.interiors):
            sides = np.diff(shapely.get_coordinates(ring), axis=0)
            turns = np.arctan2(sides[:, 1], sides[:, 0]) % np.pi
            found += zip(turns.tolist(), np.hypot(*sides.T).tolist(), strict=True)
    turns, lengths = np.array(found).T
    total = lengths.sum()
    directions: list[float] = []
    while len(directions) < n_most and len(turns):
        apart = np.abs((turns[:, None] - turns + np.pi / 2) % np.pi - np.pi / 2)
        near = apart < SAME_TURN  # (n, n)
        weights = near @ lengths
        best = int(weights.argmax())
        if weights[best] < least * total:
            break
        directions.append(float(turns[best]))
        turns, lengths = turns[~near[best]], lengths[~near[best]]
    return np.array(directions)


def stretch_matrix(scale: float, stretch: float, axis: float) -> Floats:
    """(2, 2): `scale` overall, longer by sqrt(stretch) along `axis`, thinner across it."""
    turn = rigid(np.zeros(2), np.array(axis))[:2, :2]
    sides = np.diag([scale * stretch**0.5, scale / stretch**0.5])
    out: Floats = turn @ sides @ turn.T
    return out


class SpotTable:
    """Tells for many spots at once whether they lie on a shape in the piece frame."""

    def __init__(self, shape: BaseGeometry, extent: float) -> None:
        self._reach = 1.01 * extent
        self._step = 2 * self._reach / FINE
        ticks = (np.arange(FINE) + 0.5) * self._step - self._reach
        inside = shapely.contains_xy(shape, *np.meshgrid(ticks, ticks))
        # One empty row and column all round catches every spot off the piece.
        table = np.zeros((FINE + 2, FINE + 2), dtype=np.float32)
        table[1:-1, 1:-1] = inside
        self._table = table.ravel()

    def under(self, linear: Floats, offsets: Floats) -> NDArray[np.float32]:
        """(n_ways, n_offsets), 1 where an offset (n_offsets, 2) from the centroid lies on
        the shape laid in a way (n_ways, 2, 2), else 0.
        """
        back = np.linalg.inv(linear).astype(np.float32) / np.float32(self._step)
        flat = offsets.T.astype(np.float32)
        start = np.float32(self._reach / self._step + 1)
        at = np.empty((2, len(linear), len(offsets)), dtype=np.int32)
        for axis in range(2):
            spots = back[:, axis] @ flat + start
            at[axis] = spots.clip(0, FINE + 1)
        under: NDArray[np.float32] = self._table[at[1] * np.int32(FINE + 2) + at[0]]
        return under


def shown_parts(pieces: Sequence[Piece]) -> list[Shape]:
    """What the vehicle shows of each piece, where it stands; empty where all is hidden."""
    out: list[Shape] = []
    above: BaseGeometry = shapely.Polygon()
    for piece in reversed(pieces):
        out.append(cast(Shape, without(piece.outline, above)))
        above = joined([above, piece.outline])
    return out[::-1]


def visible_shares(pieces: Sequence[Piece]) -> Floats:
    """(n_pieces,): each piece's share of what is seen of the vehicle."""
    seen = shapely.area(shown_parts(pieces))
    shares: Floats = seen / seen.sum()
    return shares


def laid_again(drawing: Drawing, assignment: Assignment) -> tuple[Placement, ...]:
    """The covers of a layout as placements again."""
    return tuple(
        Placement(
            index, BONE_IDS.index(cover.region), cover.stage_from_piece, cover.scale,
            cover.stretch, laid_outline(piece, cover), 0.0, stowed=cover.stowed,
        )
        for index, (piece, cover) in enumerate(
            zip(drawing.pieces, assignment.covers, strict=True)
        )
    )  # fmt: skip
