"""Nothing floats and nothing sinks: pieces are drawn back to what carries them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely.geometry.base import BaseGeometry

from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.frames import map_shapes
from panelbeater.geometry.overlay import joined
from panelbeater.paths.detours import Detours
from panelbeater.paths.options import PathOptions
from panelbeater.terms.arrays import Affines, Ints, Points

_Shapes: TypeAlias = np.ndarray[Any, np.dtype[np.object_]]
"""(n,), outlines on the stage."""


@dataclass(frozen=True, slots=True, eq=False)
class Crowd:
    """All pieces and bare bodies over the shot, before any correction."""

    outlines: tuple[tuple[BaseGeometry, ...], ...]
    """(n_frames)(n_pieces) in their own frames, simplified."""
    placed: Affines
    """(n_frames, n_pieces, 3, 3) stage_from_piece."""
    bodies: tuple[tuple[BaseGeometry, ...], ...]
    """(n_frames)(n_bones) on the stage."""
    ground: float
    height: float


def hold_together(
    crowd: Crowd,
    first: int,
    last: int,
    options: PathOptions,
    effort: Effort = QUIET,
) -> Points:
    """Stage moves (n_frames, n_pieces, 2) that keep every piece carried and above ground.

    Frames before `first` and from `last` on are left alone. A floating group is moved
    towards what it is nearest to, by as much as it is off, on the smoothest detour that
    does it. Rounds repeat on the frames that changed, because a piece that moves may leave
    another behind.
    """
    n_frames, n_pieces = crowd.placed.shape[:2]
    moves = np.zeros((n_frames, n_pieces, 2))
    detours = Detours(n_frames, n_pieces, first, last, options.detour_frames)
    stale = np.zeros(n_frames, dtype=bool)
    stale[first:last] = True
    needs = np.zeros_like(moves)
    for turn in range(options.n_rounds):
        for frame in np.flatnonzero(stale).tolist():
            needs[frame] = _needs(crowd, frame, moves[frame], options)
        wanted = np.abs(needs).max(axis=2) > 0  # (f, p)
        if not wanted.any():
            break
        effort.note(f"frames with something loose: {int(wanted.any(axis=1).sum())}")
        before = moves.copy()
        # In the end it settles for a kink rather than a float.
        smooth = turn < options.n_smooth
        moves = detours.through(moves, needs) if smooth else moves + needs
        moves[:first], moves[last:] = 0.0, 0.0
        stale = np.abs(moves - before).max(axis=(1, 2)) > 1e-12 * crowd.height
        stale |= wanted.any(axis=1)
        needs[stale] = 0.0
    return moves


def _needs(crowd: Crowd, frame: int, move: Points, options: PathOptions) -> Points:
    """(n_pieces, 2): the smallest moves that carry what floats and lift what sinks."""
    placed = crowd.placed[frame].copy()
    placed[:, :2, 2] += move
    shapes = map_shapes(placed, crowd.outlines[frame])
    need = np.zeros_like(move)
    low = shapely.bounds(shapes)[:, 3] - crowd.ground
    sunk = low > 1e-9 * crowd.height
    need[sunk, 1] = -low[sunk]
    bodies = crowd.bodies[frame]
    for group in floating_groups(shapes, bodies, crowd.height, options):
        members = set(group)
        carried = [s for i, s in enumerate(shapes) if i not in members] + list(bodies)
        loose = joined([shapes[i] for i in group])
        line = shapely.shortest_line(loose, joined(carried))
        gap = np.subtract(*shapely.get_coordinates(line)[::-1])
        length = float(np.hypot(*gap))
        if length == 0.0:  # within reach of a neighbour that floats too
            continue
        need[list(group)] = gap * (1 + options.overlap * crowd.height / length)
    return need


def floating_groups(
    shapes: Sequence[BaseGeometry],
    bodies: Sequence[BaseGeometry],
    height: float,
    options: PathOptions,
) -> list[list[int]]:
    """Groups of touching pieces that no bare body carries."""
    drawn, bare = np.array(shapes, dtype=object), np.array(bodies, dtype=object)
    held = np.zeros(len(drawn), dtype=bool)
    # Nearly all lie on a bone; asking for distances only of the rest is ten times faster.
    held[shapely.STRtree(drawn).query(bare, predicate="intersects")[1]] = True
    loose = np.flatnonzero(~held)
    near = _near(drawn[loose], bare, options.touch_body * height)
    held[loose[near]] = True
    edge, loose = np.flatnonzero(held), np.flatnonzero(~held)
    while len(edge):
        near = _near(drawn[loose], drawn[edge], options.touch * height)
        edge, loose = loose[near], np.delete(loose, near)
    if not len(loose):
        return []
    tree = shapely.STRtree(drawn[loose])
    a, b = tree.query(drawn[loose], predicate="dwithin", distance=options.touch * height)
    graph = coo_array((np.ones(len(a)), (a, b)), shape=(len(loose), len(loose)))
    count, label = connected_components(graph, directed=False)
    return [loose[label == k].tolist() for k in range(count)]


def _near(shapes: _Shapes, others: _Shapes, distance: float) -> Ints:
    """Which of the shapes lie within a distance of any of the others."""
    near = shapely.STRtree(others).query(shapes, predicate="dwithin", distance=distance)[0]
    return np.unique(near)
