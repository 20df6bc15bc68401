"""What befalls finished frames on the way to the screen: twos, a flop, a redraw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from panelbeater.animation import ShotPlan
from panelbeater.geometry.frames import map_shape, rigid
from panelbeater.scores import Shot
from panelbeater.terms.arrays import Affines
from panelbeater.terms.drawing import Shape


def exposed(shot: Shot, exposure: int) -> Shot:
    """Every drawing held for `exposure` frames; the last drawing is always shown."""
    last = len(shot.frames) - 1
    shown = [last if k == last else k - k % exposure for k in range(last + 1)]
    frames = tuple(
        replace(shot.frames[row], frame=float(k), master=shot.frames[k].master)
        for k, row in enumerate(shown)
    )
    return replace(shot, frames=frames)


def telling_rows(n_frames: int, every: int) -> list[int]:
    """Every so many frames and the last two: enough for all that is not motion."""
    return [*range(0, n_frames - 2, every), n_frames - 2, n_frames - 1]


def flopped_shot(shot: Shot) -> Shot:
    """The stage seen in a mirror: left and right exchanged about the vehicle's middle."""
    x0, _, x1, _ = shot.vehicle.bounds
    mirror = np.array([[-1.0, 0.0, x0 + x1], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    return _mapped(shot, mirror)


def redrawn(
    plan: ShotPlan, shot: Shot, rng: np.random.Generator, error: float, rows: Sequence[int]
) -> Shot:
    """Every piece redrawn by hand: off by `error` of its size in place, size and turn.

    The redrawn piece is the one used from the first frame to the last, so what shows is
    gaps, bare body and pieces that no longer touch. `error` is the standard deviation. Only
    the frames in `rows` are kept, renumbered; the first of them must be frame 0.
    """
    off = _slips(plan, rng, error)  # (n_pieces, 3, 3), in each piece's own frame
    places = plan.sample.stage_from_piece[list(rows)]
    moves = places @ off @ np.linalg.inv(places)
    frames = []
    for at, row in enumerate(rows):
        pieces = tuple(
            replace(piece, outline=map_shape(moves[at, i], piece.outline))
            for i, piece in enumerate(shot.frames[row].pieces)
        )
        frames.append(replace(shot.frames[row], frame=float(at), pieces=pieces))
    inputs = tuple(
        replace(piece, outline=drawn.outline)
        for piece, drawn in zip(shot.pieces, frames[0].pieces, strict=True)
    )
    return replace(shot, pieces=inputs, frames=tuple(frames))


def _slips(plan: ShotPlan, rng: np.random.Generator, error: float) -> Affines:
    out = []
    for piece in plan.rig.drawing.pieces:
        size = float(np.sqrt(piece.outline.area))
        dx, dy, turn, grow = error * np.clip(rng.standard_normal(4), -2, 2)
        slip = rigid(np.array([dx * size, dy * size]), np.array(turn))
        slip[:2, :2] *= 1.0 + grow
        out.append(slip)
    return np.array(out)


def _mapped(shot: Shot, move: Affines) -> Shot:
    def put(shape: Shape) -> Shape:
        moved = map_shape(move, shape)
        # A flop turns rings round; put them back so that areas stay what they are.
        return shapely.orient_polygons(moved)

    frames = tuple(
        replace(
            frame,
            bones=tuple(replace(b, outline=put(b.outline)) for b in frame.bones),
            pieces=tuple(replace(p, outline=put(p.outline)) for p in frame.pieces),
        )
        for frame in shot.frames
    )
    return replace(
        shot,
        vehicle=put(shot.vehicle),
        figure=put(shot.figure),
        regions=tuple(replace(r, outline=put(r.outline)) for r in shot.regions),
        pieces=tuple(replace(p, outline=put(p.outline)) for p in shot.pieces),
        frames=frames,
    )
