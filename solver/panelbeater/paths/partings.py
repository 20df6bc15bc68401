"""When two pieces would have to leave to part on the way, and so change places unseen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from panelbeater.geometry.frames import from_channels, map_shapes
from panelbeater.geometry.overlay import shared_areas
from panelbeater.paths.depth import SEEN
from panelbeater.paths.ride import Rides, blend, shares_come, stretches
from panelbeater.terms.arrays import Flags, Ints, Shapes
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.timing import Move, Parting, Schedule, ShotOptions

LATER = 6
"""A piece is tried up to this many frames earlier and later; more would leave it hanging,
or its limb bare."""
CLEAR = 3
"""Frames on end in which they must not overlap: an order stands one frame before a pair
meets, and one after it has parted."""


def find_partings(
    drawing: Drawing,
    rides: Rides,
    schedule: Schedule,
    refused: Sequence[tuple[int, int, int]],
    shot: ShotOptions,
) -> tuple[Parting, ...]:
    """Start frames that would let refused pairs part, where there are any.

    refused : as in `Stack`; pairs that do not overlap in the drawing are bound by others
    and not looked at. Pieces are taken to ride straight and to change size as they go:
    where they are led or when they shrink is not known before they are scheduled, so the
    order in every frame has the last word. Grows with pairs * starts^2 * frames.
    """
    out = []
    for over, under, since in refused:
        if since == 0:
            starts, ways = zip(
                *(_ways(drawing, rides, schedule.moves[i], i, shot) for i in (over, under)),
                strict=True,
            )
            parts = _part(*ways)
            found = tuple(
                (int(starts[0][k]), int(starts[1][m])) for k, m in np.argwhere(parts)
            )
            out += [Parting((over, under), found)] if found else []
    return tuple(out)


def _ways(
    drawing: Drawing, rides: Rides, move: Move, piece: int, shot: ShotOptions
) -> tuple[Ints, Shapes]:
    """Start frames (n_starts,) of a piece and its outlines (n_starts, n_frames)."""
    length = move.end - move.start
    first = max(move.start - LATER, shot.moving.start)
    last = min(move.start + LATER, shot.moving.stop - length)
    starts = np.arange(first, last + 1)
    alone = replace(
        rides,
        bones=rides.bones[[piece] * len(starts)],
        waits=rides.waits[[piece] * len(starts)],
        drawn=rides.drawn[[piece] * len(starts)],
        last=rides.last[[piece] * len(starts)],
    )
    moves = tuple(Move(move.piece, k, k + length) for k in starts.tolist())
    schedule = Schedule(moves, "")
    values = blend(alone, schedule, shot.n_frames, ease=shot.ease)
    u = shares_come(alone, schedule, shot.n_frames, ease=shot.ease)
    channels = np.concatenate([values, stretches(alone.last, u)], axis=-1)
    placed = rides.frames[:, alone.bones] @ from_channels(channels)
    outline = drawing.pieces[piece].outline
    centred = shapely.transform(outline, lambda xy: xy - rides.drawn[piece])
    shapes = np.empty(placed.shape[:2], dtype=object)
    shapes.ravel()[:] = map_shapes(placed.reshape(-1, 3, 3), [centred] * shapes.size)
    return starts, shapes.T


def _part(ones: Shapes, others: Shapes) -> Flags:
    """(n_starts of one, of other), True where they are apart for long enough."""
    least = SEEN * np.minimum(shapely.area(ones)[:, None], shapely.area(others)[None])
    run = np.zeros(least.shape[:2], dtype=np.int64)  # frames apart so far
    longest = run.copy()
    for frame in range(least.shape[2]):
        met = shared_areas(ones[:, None, frame], others[None, :, frame])
        run = np.where(met <= least[..., frame], run + 1, 0)
        longest = np.maximum(longest, run)
    out: Flags = longest >= CLEAR
    return out
