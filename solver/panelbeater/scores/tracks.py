"""The shot laid out as arrays over frames and pieces, the one table all measures read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from panelbeater.scores.arrays import Flags, Shapes
from panelbeater.scores.limits import Limits
from panelbeater.scores.overlay import made_valid
from panelbeater.scores.shot import Shot
from panelbeater.terms.arrays import Floats, Ints, Points
from panelbeater.terms.drawing import Shape


@dataclass(frozen=True, slots=True, eq=False)
class Tracks:
    """Everything the measures need of one shot; drawing units, stage frame, y down."""

    shot: Shot
    limits: Limits
    frames: Floats
    """(n_frames,), frame numbers."""
    piece_ids: tuple[str, ...]
    bone_ids: tuple[str, ...]
    drawn: Shapes
    """(n_frames, n_pieces), outlines just as the file gives them; empty where absent."""
    outlines: Shapes
    """(n_frames, n_pieces), the same made valid."""
    inputs: Shapes
    """(n_pieces,), input outlines made valid."""
    own_area: Floats
    """(n_frames, n_pieces), area at drawn size of the drawing that is shown."""
    present: Flags
    """(n_frames, n_pieces), whether the frame lists the piece."""
    visible: Flags
    """(n_frames, n_pieces), listed and visible."""
    depth: Ints
    """(n_frames, n_pieces)"""
    scale: Floats
    """(n_frames, n_pieces), as the file states it; 1 where absent."""
    bone_of: Ints
    """(n_frames, n_pieces), index into `bone_ids`; -1 where absent."""
    bones: Shapes
    """(n_frames, n_bones), made valid; empty where absent."""
    area: Floats
    """(n_frames, n_pieces)"""
    centroid: Points
    """(n_frames, n_pieces, 2), 0 where absent."""
    vehicle: Shape
    figure: Shape
    height: float
    """H, height of the figure."""
    diagonal: float
    """D, of vehicle and figure together."""
    width: float
    """W, width of the shot's frame."""
    allowance: Floats
    """(n_pieces, 3), smallest end scale, largest end scale, smallest scale at any frame."""

    @property
    def measured_scale(self) -> Floats:
        """(n_frames, n_pieces), sqrt(area / own area): the scale as it is drawn. A piece
        with two drawings is measured by the one it shows.
        """
        return np.sqrt(self.area / self.own_area)

    @property
    def repeats(self) -> Flags:
        """(n_frames,), whether a frame shows what the frame before it shows."""
        out = np.zeros(len(self.frames), dtype=np.bool_)
        out[1:] = (self.visible[1:] == self.visible[:-1]).all(axis=1)
        out[1:] &= (self.depth[1:] == self.depth[:-1]).all(axis=1)
        for shapes in (self.outlines, self.bones):
            out[1:] &= shapely.equals_exact(shapes[1:], shapes[:-1]).all(axis=1)
        return out


def lay_out(
    shot: Shot,
    limits: Limits,
    *,
    allowances: Mapping[str, tuple[float, float, float]] | None = None,
    frame_width: float | None = None,
) -> Tracks:
    """Arrays of a shot.

    Without `frame_width` the shot's frame is taken as 16:9 and just large enough to hold
    vehicle and figure with a tenth of their size free on every side.
    """
    piece_ids = tuple(piece.id for piece in shot.pieces)
    bone_ids = tuple(sorted({bone.id for frame in shot.frames for bone in frame.bones}))
    table = _Table.empty(len(shot.frames), piece_ids, bone_ids)
    for at in range(len(shot.frames)):
        table.fill(shot, at)
    vehicle, figure = made_valid(shot.vehicle), made_valid(shot.figure)
    both = shapely.total_bounds([vehicle, figure])
    size = both[2:] - both[:2]  # (2,)
    outlines = _all_valid(table.drawn)
    given = allowances or {}
    usual = (limits.scale_min, limits.scale_max, limits.dip_min)
    inputs = np.empty(len(piece_ids), dtype=object)
    inputs[:] = [made_valid(piece.outline) for piece in shot.pieces]
    return Tracks(
        shot=shot,
        limits=limits,
        frames=np.array([frame.frame for frame in shot.frames]),
        piece_ids=piece_ids,
        bone_ids=bone_ids,
        drawn=table.drawn,
        outlines=outlines,
        inputs=inputs,
        own_area=np.where(table.redrawn, _worn_areas(shot), shapely.area(inputs)),
        present=table.present,
        visible=table.visible,
        depth=table.depth,
        scale=table.scale,
        bone_of=table.bone_of,
        bones=_all_valid(table.bones),
        area=shapely.area(outlines),
        centroid=centroids(outlines),
        vehicle=vehicle,
        figure=figure,
        height=float(figure.bounds[3] - figure.bounds[1]),
        diagonal=float(np.hypot(*size)),
        width=frame_width
        or float(limits.frame_margin * max(size[0], size[1] * limits.frame_ratio)),
        allowance=np.array(
            [given.get(name, usual) for name in piece_ids], dtype=np.float64
        ),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Table:
    """Arrays under construction, one row a frame."""

    piece_at: Mapping[str, int]
    bone_at: Mapping[str, int]
    drawn: Shapes
    bones: Shapes
    present: Flags
    visible: Flags
    depth: Ints
    scale: Floats
    redrawn: Flags
    bone_of: Ints

    @staticmethod
    def empty(
        n_frames: int, piece_ids: tuple[str, ...], bone_ids: tuple[str, ...]
    ) -> _Table:
        shape = (n_frames, len(piece_ids))
        return _Table(
            piece_at={name: at for at, name in enumerate(piece_ids)},
            bone_at={name: at for at, name in enumerate(bone_ids)},
            drawn=np.full(shape, Polygon(), dtype=object),
            bones=np.full((n_frames, len(bone_ids)), Polygon(), dtype=object),
            present=np.zeros(shape, dtype=np.bool_),
            visible=np.zeros(shape, dtype=np.bool_),
            depth=np.zeros(shape, dtype=np.int64),
            scale=np.ones(shape),
            redrawn=np.zeros(shape, dtype=np.bool_),
            bone_of=np.full(shape, -1, dtype=np.int64),
        )

    def fill(self, shot: Shot, at: int) -> None:
        for bone in shot.frames[at].bones:
            self.bones[at, self.bone_at[bone.id]] = bone.outline
        for piece in shot.frames[at].pieces:
            cell = (at, self.piece_at[piece.id])
            self.drawn[cell] = piece.outline
            self.present[cell] = True
            self.visible[cell] = piece.visible
            self.depth[cell] = piece.depth
            self.scale[cell] = piece.scale
            self.redrawn[cell] = piece.is_redrawn
            self.bone_of[cell] = self.bone_at[piece.bone]


def _worn_areas(shot: Shot) -> Floats:
    """(n_pieces,), areas of the robot drawings; of the first where there is but one."""
    worn = [made_valid(piece.redrawn or piece.outline) for piece in shot.pieces]
    return np.array([shape.area for shape in worn])


def _all_valid(shapes: Shapes) -> Shapes:
    out = shapes.copy()
    for cell in zip(*np.nonzero(~shapely.is_valid(shapes)), strict=True):
        out[cell] = made_valid(shapes[cell])
    return out


def centroids(shapes: Shapes) -> Points:
    """(..., 2), centroids of outlines, drawing units; 0 for an empty one."""
    out = np.zeros((*shapes.shape, 2))
    filled = ~shapely.is_empty(shapes)
    out[filled] = shapely.get_coordinates(shapely.centroid(shapes[filled]))
    return out
