"""Nothing floats and nothing sinks: pieces are drawn back to what carries them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely.geometry.base import BaseGeometry

from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.frames import map_shapes
from panelbeater.geometry.overlay import joined
from panelbeater.paths.clear import Clearance, way_off
from panelbeater.paths.crowd import NEGLIGIBLE, PARTS, Crowd
from panelbeater.paths.detours import Detours
from panelbeater.paths.options import PathOptions
from panelbeater.terms.arrays import Flags, Ints, Points, Shapes


def hold_together(
    crowd: Crowd,
    first: int,
    last: int,
    options: PathOptions,
    effort: Effort = QUIET,
    *,
    fine: bool = True,
    clear: Sequence[Clearance] = (),
) -> Points:
    """Stage moves (n_frames, n_pieces, 2) that keep every piece carried and above ground,
    and pieces that are `clear` of each other so.

    Frames before `first` and from `last` on are left alone. A floating group is moved
    towards what it is nearest to, by as much as it is off, on the smoothest detour that
    does it; what is wrong between two frames is asked of both. Rounds repeat where
    something changed, because a piece that moves may leave another behind. Between frames
    it looks half-way, and where that is at peace and `fine`, at every moment.
    """
    n_frames, n_pieces = len(crowd.outlines), crowd.placed.shape[1]
    moves = np.zeros((n_frames, n_pieces, 2))
    levers = np.array([*np.eye(n_pieces), *(pair.lever(n_pieces) for pair in clear)])
    detours = Detours(n_frames, levers, first, last, options.detour_frames)
    coarse, finer = _worth_a_look(crowd, options)
    # What stands still there until it is led has to get there.
    ends = np.clip([first, last], 1, n_frames - 1) - 1
    coarse[PARTS * ends + PARTS // 2] = True
    for free in (coarse, finer):
        free[: PARTS * max(first - 1, 0)], free[PARTS * last + 1 :] = False, False
    free = stale = coarse
    looked_at = crowd.in_between(moves)
    needs = np.zeros((len(looked_at), len(levers), 2))
    looks, begun = dict[int, _Look](), 0
    for turn in range(options.n_rounds):
        between = crowd.in_between(moves)
        for at in np.flatnonzero(stale).tolist():
            looks[at] = _look(crowd, at, between[at], looks.get(at))
            needs[at] = _needs(crowd, at, looks[at], options, clear)
        looked_at[stale] = between[stale]
        asked = _asked(needs)
        asked[:first], asked[last:] = 0.0, 0.0
        wanted = np.abs(asked).max(axis=(1, 2)) > 0  # (n_frames,)
        if not wanted.any():
            if not fine:
                break
            fine, free, stale, begun = False, coarse | finer, finer, turn + 1
            continue
        effort.note(f"frames with something loose: {int(wanted.sum())}")
        # In the end it settles for a kink rather than a float.
        smooth = turn - begun < options.n_smooth
        lead = detours.through if smooth else detours.at_once
        moves = lead(moves, asked)
        moves[:first], moves[last:] = 0.0, 0.0
        moved = np.abs(crowd.in_between(moves) - looked_at).max(axis=(1, 2))
        stale = free & (moved > NEGLIGIBLE * crowd.height)
        stale[::PARTS] |= wanted
        needs[stale] = 0.0
    return moves


def still_wrong(
    crowd: Crowd, moves: Points, options: PathOptions, clear: Sequence[Clearance]
) -> Flags:
    """(n_pieces + n_clear,), pieces that still float or sink in some frame or half-way, and
    wishes that are not kept.
    """
    between, coarse = crowd.in_between(moves), _worth_a_look(crowd, options)[0]
    out = np.zeros(moves.shape[1] + len(clear), dtype=np.bool_)
    for at in np.flatnonzero(coarse).tolist():
        look = _look(crowd, at, between[at], None)
        out |= _needs(crowd, at, look, options, clear).any(axis=1)
    for row, pair in enumerate(clear, moves.shape[1]):
        out[row] |= (pair.overlaps(crowd, between, options) & pair.barred).any()
    return out


def _worth_a_look(crowd: Crowd, options: PathOptions) -> tuple[Flags, Flags]:
    """(n_moments,) twice: frames, and half-ways where something moves from this frame to
    the next, else what holds in it holds there as well; all between where something goes
    far.
    """
    frames = crowd.placed[::PARTS]
    way = np.stack([crowd.placed[part::PARTS] for part in range(1, PARTS)])
    stirs = (way != frames[:-1]).any(axis=(0, 2, 3, 4))
    step = np.diff(frames[..., :2, 2], axis=0)
    quick = np.hypot(step[..., 0], step[..., 1]).max(axis=1) > options.quick * crowd.height
    coarse = np.zeros(len(crowd.placed), dtype=np.bool_)
    finer = coarse.copy()
    coarse[::PARTS], coarse[PARTS // 2 :: PARTS] = True, stirs
    for part in set(range(1, PARTS)) - {PARTS // 2}:
        finer[part::PARTS] = quick
    return coarse, finer


def _asked(needs: Points) -> Points:
    """(n_frames, n_pieces, 2) from (n_moments, ...): what a piece needs in a frame, or what
    it needs on the way to the next where what both frames need may not mend that.
    """
    own = needs[::PARTS]
    here = np.hypot(own[..., 0], own[..., 1])  # (n_frames, n_pieces)
    mended = 2 * np.maximum(here[:-1], here[1:])
    least, most = np.zeros_like(own[:-1]), np.zeros_like(mended)
    for part in range(1, PARTS):
        need = needs[part::PARTS]
        far = np.hypot(need[..., 0], need[..., 1])  # (n_frames - 1, n_pieces)
        counts = (far > mended) & (far > most)
        least[counts], most[counts] = need[counts], far[counts]
    none, rest = np.zeros_like(own[:1]), np.zeros_like(most[:1])
    before, after = np.concatenate([none, least]), np.concatenate([least, none])
    larger = np.concatenate([rest, most]) > np.concatenate([most, rest])
    between = np.where(larger[..., None], before, after)
    return np.where(between.any(axis=2, keepdims=True), between, own)


@dataclass(frozen=True, slots=True, eq=False)
class _Look:
    """Where the pieces are at one moment."""

    move: Points
    """(n_pieces, 2), off their places."""
    shapes: Shapes
    lies: Flags
    """(n_pieces,), on the bare body."""


def _look(crowd: Crowd, at: int, move: Points, before: _Look | None) -> _Look:
    """Pieces that have not moved since the look `before` are not looked at again."""
    n_pieces = len(move)
    shapes, lies = np.empty(n_pieces, dtype=object), np.zeros(n_pieces, dtype=np.bool_)
    moved = np.arange(n_pieces)
    if before:
        moved = np.flatnonzero((move != before.move).any(axis=1))
        shapes[:], lies[:] = before.shapes, before.lies
    placed = crowd.placed[at, moved]
    placed[:, :2, 2] += move[moved]
    outlines = crowd.outlines[at // PARTS]
    shapes[moved] = map_shapes(placed, [outlines[i] for i in moved.tolist()])
    lies[moved] = _lies_on(shapes[moved], crowd.bodies[at])
    return _Look(move, shapes, lies)


def _needs(
    crowd: Crowd,
    at: int,
    look: _Look,
    options: PathOptions,
    clear: Sequence[Clearance] = (),
) -> Points:
    """(n_pieces + n_clear, 2): the smallest moves that carry what floats and lift what
    sinks at one moment, and part what should be clear.
    """
    shapes = look.shapes
    need = np.zeros((len(look.move) + len(clear), 2))
    for row, pair in enumerate(clear, len(look.move)):
        if pair.barred[at]:
            margin, least = options.clear_margin * crowd.height, options.clear_area
            two = pair.two(crowd, at, look.move)
            need[row] = way_off(*two, margin, least * crowd.height**2)
    low = shapely.bounds(shapes)[:, 3] - crowd.ground
    sunk = low > (options.sunk_between if at % PARTS else options.sunk) * crowd.height
    need[np.flatnonzero(sunk), 1] = -low[sunk]
    bodies = crowd.bodies[at]
    for group in _floating(shapes, bodies, look.lies, crowd.height, options):
        members = set(group)
        off, bare = _off_limits(group, clear, at)
        carried = [s for i, s in enumerate(shapes) if i not in members | off]
        carried += [body for i, body in enumerate(bodies) if i not in bare]
        loose = joined([shapes[i] for i in group])
        line = shapely.shortest_line(loose, joined(carried))
        gap = np.subtract(*shapely.get_coordinates(line)[::-1])
        length = float(np.hypot(*gap))
        if length == 0.0:  # within reach of a neighbour that floats too
            continue
        need[list(group)] = gap * (1 + options.overlap * crowd.height / length)
    return need


def _off_limits(
    group: Sequence[int], clear: Sequence[Clearance], at: int
) -> tuple[set[int], set[int]]:
    """Pieces and bones that may not carry a group, since a member keeps clear of them."""
    pieces, bones = set[int](), set[int]()
    for pair in clear:
        if pair.barred[at] and pair.piece in group:
            bones |= set(pair.bones)
            pieces |= {pair.other} if pair.other is not None else set()
        if pair.barred[at] and pair.other in group:
            pieces.add(pair.piece)
    return pieces, bones


def floating_groups(
    shapes: Sequence[BaseGeometry],
    bodies: Sequence[BaseGeometry],
    height: float,
    options: PathOptions,
) -> list[list[int]]:
    """Groups of touching pieces that no bare body carries."""
    drawn = np.array(shapes, dtype=object)
    return _floating(drawn, bodies, _lies_on(drawn, bodies), height, options)


def _lies_on(shapes: Shapes, bodies: Sequence[BaseGeometry]) -> Flags:
    """(n,), which of the shapes meet a bare body."""
    out = np.zeros(len(shapes), dtype=np.bool_)
    bare = np.array(bodies, dtype=object)
    out[shapely.STRtree(shapes).query(bare, predicate="intersects")[1]] = True
    return out


def _floating(
    drawn: Shapes,
    bodies: Sequence[BaseGeometry],
    lies: Flags,
    height: float,
    options: PathOptions,
) -> list[list[int]]:
    # Nearly all lie on a bone; asking for distances only of the rest is ten times faster.
    held, bare = lies.copy(), np.array(bodies, dtype=object)
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


def _near(shapes: Shapes, others: Shapes, distance: float) -> Ints:
    """Which of the shapes lie within a distance of any of the others."""
    near = shapely.STRtree(others).query(shapes, predicate="dwithin", distance=distance)[0]
    return np.unique(near)
