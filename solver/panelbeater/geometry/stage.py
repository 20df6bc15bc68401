"""Where every piece and bone of the rig stands on the stage at a sampled moment."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np
import shapely

from panelbeater.geometry.bending import bend_shape
from panelbeater.geometry.frames import map_shape, map_shapes, moved, rigid
from panelbeater.terms.arrays import Affines, Flags, Floats, Points
from panelbeater.terms.assignment import Cover
from panelbeater.terms.drawing import Piece, Shape
from panelbeater.terms.figure import Bone
from panelbeater.terms.rig import Rig, Sample

Outlines: TypeAlias = np.ndarray[Any, np.dtype[np.object_]]
"""(n_times, n), outlines on the stage."""


def drawn_centroids(pieces: Sequence[Piece]) -> Points:
    """Origins of the piece frames in the drawing; (n_pieces, 2), drawing units."""
    outlines = np.array([piece.outline for piece in pieces], dtype=object)
    return np.asarray(shapely.get_coordinates(shapely.centroid(outlines)), dtype=np.float64)


def piece_from_drawing(pieces: Sequence[Piece]) -> Affines:
    """Moves that bring each drawn centroid to 0, 0; (n_pieces, 3, 3)."""
    return rigid(-drawn_centroids(pieces), np.zeros(len(pieces)))


def piece_transforms(rig: Rig, sample: Sample) -> Affines:
    """stage_from_drawing of every piece; (n_times, n_pieces, 3, 3), identity at frame 0.

    Outlines and artwork are kept in drawing coordinates, so this one transform places both.
    """
    placed: Affines = sample.stage_from_piece @ piece_from_drawing(rig.drawing.pieces)[None]
    return placed


def piece_scales(sample: Sample) -> Floats:
    """Uniform part sqrt|det| of every placement; (n_times, n_pieces), ratios."""
    areas: Floats = np.linalg.det(sample.stage_from_piece[..., :2, :2])
    return np.sqrt(np.abs(areas))


def bone_from_standing(bones: Sequence[Bone]) -> Affines:
    """Standing stage to each bone's frame (joint at 0, 0, x along it); (n_bones, 3, 3)."""
    starts = np.array([bone.start for bone in bones], dtype=np.float64)
    along = np.array([bone.end for bone in bones], dtype=np.float64) - starts
    standing = rigid(starts, np.arctan2(along[:, 1], along[:, 0]))
    return np.asarray(np.linalg.inv(standing), dtype=np.float64)


def bone_transforms(rig: Rig, sample: Sample) -> Affines:
    """stage_from_standing of every bone's shape; (n_times, n_bones, 3, 3).

    Foreshortening acts in the bone's own frame, before the bone is placed on the stage.
    """
    squeeze = np.zeros((*sample.bone_scales.shape[:2], 3, 3))  # (n_times, n_bones, 3, 3)
    squeeze[..., 0, 0] = sample.bone_scales[..., 0]
    squeeze[..., 1, 1] = sample.bone_scales[..., 1]
    squeeze[..., 2, 2] = 1.0
    standing = bone_from_standing(rig.figure.bones)[None]
    placed: Affines = sample.stage_from_bone @ squeeze @ standing
    return placed


def piece_outlines(rig: Rig, sample: Sample, time: int) -> list[Shape]:
    """Stage outlines of all pieces at sampled moment `time`, in drawing order."""
    transforms = piece_transforms(rig, sample)[time]  # (n_pieces, 3, 3)
    return map_shapes(transforms, shown_shapes(rig, sample, time))


def all_piece_outlines(rig: Rig, sample: Sample) -> Outlines:
    """(n_times, n_pieces), `piece_outlines` of every sampled moment at once.

    What stands as it stood the moment before is the same object: whoever looks at moment
    after moment can leave it out.
    """
    looks = np.empty(sample.visible.shape, dtype=object)
    fresh = np.zeros(looks.shape, dtype=np.bool_)
    for i in range(len(rig.tracks)):
        for rows, shape in shown_spans(rig, sample, i):
            looks[rows, i] = shape
            fresh[rows.start, i] = True
    return _all_placed(piece_transforms(rig, sample), looks, fresh)


def all_bone_outlines(rig: Rig, sample: Sample) -> Outlines:
    """(n_times, n_bones), as `all_piece_outlines`, of the bare bones in figure order."""
    transforms = bone_transforms(rig, sample)  # (n_times, n_bones, 3, 3)
    looks = np.empty(transforms.shape[:2], dtype=object)
    looks[:] = [bone.body for bone in rig.figure.bones]
    return _all_placed(transforms, looks, np.zeros(looks.shape, dtype=np.bool_))


def _all_placed(transforms: Affines, looks: Outlines, fresh: Flags) -> Outlines:
    """Each look mapped by its own transform; `fresh` is where it is another than before."""
    moves = np.ones(looks.shape, dtype=np.bool_)
    moves[1:] = fresh[1:] | (transforms[1:] != transforms[:-1]).any(axis=(2, 3))
    out = np.empty(looks.shape, dtype=object)
    out[moves] = map_shapes(transforms[moves], looks[moves].tolist())
    latest = np.maximum.accumulate(np.where(moves, np.arange(len(out))[:, None], 0), axis=0)
    return np.take_along_axis(out, latest, axis=0)


def shown_shapes(rig: Rig, sample: Sample, time: int) -> list[Shape]:
    """Outlines of all pieces in drawing coordinates, before they are placed: the drawing
    that is shown at sampled moment `time`, bent as far as it is then.
    """
    return [_shown_shape(rig, sample, time, i) for i in range(len(rig.tracks))]


def _shown_shape(rig: Rig, sample: Sample, time: int, i: int) -> Shape:
    piece, bend = rig.drawing.pieces[i], rig.tracks[i].bend
    outline = piece.worn if sample.redrawn[time, i] else piece.outline
    if bend is None:
        return outline
    share = float(sample.bent[time, i])
    return bend_shape(bend, outline, share, centre=drawn_centroids([piece])[0])


def shown_spans(rig: Rig, sample: Sample, i: int) -> list[tuple[slice, Shape]]:
    """Runs of sampled moments in which one piece looks the same, and how it looks then."""
    looks = np.column_stack([sample.bent[:, i], sample.redrawn[:, i]])
    starts = [0, *(np.flatnonzero(np.diff(looks, axis=0).any(axis=1)) + 1).tolist()]
    return [
        (slice(start, stop), _shown_shape(rig, sample, start, i))
        for start, stop in zip(starts, [*starts[1:], len(looks)], strict=True)
    ]


def laid_outline(piece: Piece, cover: Cover) -> Shape:
    """Where a piece lies on the standing figure: its last drawing, bent and placed."""
    centre = drawn_centroids([piece])[0]
    bent = bend_shape(cover.bend, piece.worn, centre=centre)
    return map_shape(cover.stage_from_piece @ moved(*-centre), bent)


def bone_outlines(rig: Rig, sample: Sample, time: int) -> list[Shape]:
    """Stage outlines of the bare bones at sampled moment `time`, in figure order."""
    transforms = bone_transforms(rig, sample)[time]  # (n_bones, 3, 3)
    return map_shapes(transforms, [bone.body for bone in rig.figure.bones])
