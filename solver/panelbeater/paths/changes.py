"""When a piece bends, and when its second drawing takes over."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely.geometry.base import BaseGeometry

from panelbeater.geometry.bending import bend_shape
from panelbeater.geometry.frames import map_shape, moved
from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.assignment import Cover
from panelbeater.terms.drawing import Drawing, Piece
from panelbeater.terms.timing import FrameSpan, Move

HIDDEN_FROM = 0.22
"""Share of a move before and after which its shape stands still: speed is under half its
peak.
"""


def bending_span(move: Move) -> FrameSpan:
    """The fast middle of a move, in which size and shape change unseen."""
    rim = round(HIDDEN_FROM * (move.end - move.start))
    start = move.start + rim
    return FrameSpan(start, max(move.end - rim, start + 1))


def swap_frame(way: Points, span: FrameSpan) -> int:
    """The frame into which a piece makes its largest step; `way` (n_frames, 2), stage.

    Of equal steps the one nearest to the middle of its change.
    """
    frames = np.arange(max(span.start, 1), min(span.stop + 1, len(way)))
    steps = np.hypot(*(way[frames] - way[frames - 1]).T)
    middle = (span.start + span.stop) / 2
    quick = frames[steps >= steps.max() * (1 - 1e-9)]
    return int(quick[np.abs(quick - middle).argmin()])


def own_outlines(
    drawing: Drawing,
    covers: Sequence[Cover],
    spans: Sequence[FrameSpan],
    swaps: Sequence[int | None],
    n_frames: int,
    *,
    tolerance: float,
) -> tuple[tuple[BaseGeometry, ...], ...]:
    """(n_frames)(n_pieces), what each piece looks like in its own frame, simplified."""
    by_piece = [
        _through(piece, cover, span, swap, n_frames, tolerance)
        for piece, cover, span, swap in zip(
            drawing.pieces, covers, spans, swaps, strict=True
        )
    ]
    return tuple(zip(*by_piece, strict=True))


def _through(
    piece: Piece,
    cover: Cover,
    span: FrameSpan,
    swap: int | None,
    n_frames: int,
    tolerance: float,
) -> list[BaseGeometry]:
    centre = piece.outline.centroid
    to_own = moved(-centre.x, -centre.y)
    drawn, worn = map_shape(to_own, piece.outline), map_shape(to_own, piece.worn)
    times = np.arange(n_frames, dtype=np.float64)
    shares: Floats = minimum_jerk((times - span.start) / (span.stop - span.start))
    made: dict[tuple[bool, float], BaseGeometry] = {}
    shapes = []
    for frame, share in enumerate(shares.tolist()):
        key = (swap is not None and frame >= swap, share if cover.bend else 0.0)
        if key not in made:
            bent = bend_shape(cover.bend, worn if key[0] else drawn, share)
            made[key] = bent.simplify(tolerance)
        shapes.append(made[key])
    return shapes
