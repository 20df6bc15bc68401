"""Nothing floats and nothing sinks: pieces are drawn back to what carries them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import shapely
from scipy.ndimage import convolve1d
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely.geometry.base import BaseGeometry

from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.frames import apply
from panelbeater.geometry.overlay import joined
from panelbeater.paths.options import PathOptions
from panelbeater.terms.arrays import Affines, Floats, Points


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
    towards what it is nearest to, by as much as it is off; the move fades in and out over
    neighbouring frames so that no path gets a kink. Rounds repeat on the frames that
    changed, because a piece that moves may leave another behind.
    """
    n_frames, n_pieces = crowd.placed.shape[:2]
    moves = np.zeros((n_frames, n_pieces, 2))
    reach = options.spread_frames
    stale = np.zeros(n_frames, dtype=bool)
    stale[first:last] = True
    needs = np.zeros_like(moves)
    for turn in range(options.n_rounds):
        for frame in np.flatnonzero(stale).tolist():
            needs[frame] = _needs(crowd, frame, moves[frame], options)
        wanted = np.abs(needs).max(axis=(1, 2)) > 0
        if not wanted.any():
            break
        effort.note(f"frames with something loose: {int(wanted.sum())}")
        before = moves.copy()
        if turn < options.n_smooth:
            moves = _smoothed(moves + _faded(needs, reach), options.smooth_frames)
        else:
            # Smoothing takes back a little of every correction; now corrections stay.
            late = turn >= options.n_rounds - 4  # settle for a kink rather than a float
            moves = moves + _faded(needs, 0 if late else reach)
        moves[:first], moves[last:] = 0.0, 0.0
        stale = np.abs(moves - before).max(axis=(1, 2)) > 1e-12 * crowd.height
        stale |= wanted
        needs[stale] = 0.0
    return moves


def _smoothed(moves: Points, reach: int) -> Points:
    """Each path of corrections averaged over `reach` frames either side, ends held."""
    kernel = np.hanning(2 * reach + 3)[1:-1]
    out: Floats = convolve1d(moves, kernel / kernel.sum(), axis=0, mode="nearest")
    return out


def _needs(crowd: Crowd, frame: int, move: Points, options: PathOptions) -> Points:
    """(n_pieces, 2): the smallest moves that carry what floats and lift what sinks."""
    placed = crowd.placed[frame].copy()
    placed[:, :2, 2] += move
    shapes = [
        shapely.transform(outline, partial(apply, stage_from_piece))
        for outline, stage_from_piece in zip(crowd.outlines[frame], placed, strict=True)
    ]
    need = np.zeros_like(move)
    low = np.array([shape.bounds[3] for shape in shapes]) - crowd.ground
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
    tree = shapely.STRtree(shapes)
    a, b = tree.query(shapes, predicate="dwithin", distance=options.touch * height)
    n = len(shapes)
    graph = coo_array((np.ones(len(a)), (a, b)), shape=(n, n))
    count, label = connected_components(graph, directed=False)
    _, held = tree.query(bodies, predicate="dwithin", distance=options.touch_body * height)
    carried = set(label[held].tolist())
    return [np.flatnonzero(label == k).tolist() for k in range(count) if k not in carried]


def _faded(needs: Points, reach: int) -> Points:
    """Spread each need over `reach` frames either side, full at the frame itself."""
    if reach == 0:
        return needs.copy()
    n_frames = len(needs)
    apart = np.abs(np.arange(n_frames)[:, None] - np.arange(n_frames))  # (f, f)
    weight = np.clip(1 - apart / (reach + 1), 0, None)
    weight = weight * weight * (3 - 2 * weight)
    active = (np.abs(needs).max(axis=2) > 0).astype(np.float64)  # (f, p)
    total = np.einsum("jk,kp->jp", weight, active)
    mean = np.einsum("jk,kpx->jpx", weight, needs) / np.maximum(total, 1e-12)[..., None]
    # The mean of neighbouring needs, as strong as the nearest needy frame is close.
    strength = (weight[:, :, None] * active[None]).max(axis=1)  # (f, p)
    faded: Floats = mean * strength[..., None]
    return np.where(active[..., None] > 0, needs, faded)
