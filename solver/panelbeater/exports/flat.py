"""What is seen at each spot of a small picture: quick enough for every single frame."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from PIL import Image, ImageDraw

from panelbeater.exports.compose import Window, stage_window
from panelbeater.geometry.frames import apply
from panelbeater.geometry.stage import bone_transforms, piece_transforms, shown_shapes
from panelbeater.terms.arrays import Affines, Ints, Points
from panelbeater.terms.drawing import Shape
from panelbeater.terms.rig import Rig, Sample

PAPER_LABEL, BODY_LABEL, FIRST_PIECE = 0, 1, 2
"""What a label stands for; piece i of the drawing is FIRST_PIECE + i."""


def label_frames(
    rig: Rig, sample: Sample, width_px: int, *, rows: Sequence[int] | None = None
) -> Ints:
    """(n, h, w): what is seen at each spot: paper, the bare body, or which piece.

    `sample` holds one moment per frame; `rows` picks some of them. The window is the one of
    the stills, so that both lie over each other.
    """
    window = stage_window(rig, sample)
    height_px = round(width_px * window.height / window.width)
    pieces, bones = piece_transforms(rig, sample), bone_transforms(rig, sample)
    wanted = range(len(pieces)) if rows is None else rows
    body = [_rings(bone.body) for bone in rig.figure.bones]
    out = np.zeros((len(wanted), height_px, width_px), dtype=np.int64)
    for at, row in enumerate(wanted):
        picture = Image.new("I", (width_px, height_px), PAPER_LABEL)
        pen = ImageDraw.Draw(picture)
        for rings, place in zip(body, bones[row], strict=True):
            _fill(picture, pen, rings, place, window, BODY_LABEL)
        shapes = shown_shapes(rig, sample, row)
        for piece in np.argsort(rig.depth[row], kind="stable"):
            if sample.visible[row, piece]:
                label = FIRST_PIECE + int(piece)
                rings = _rings(shapes[piece])
                _fill(picture, pen, rings, pieces[row, piece], window, label)
        out[at] = np.asarray(picture)
    return out


def _rings(shape: Shape) -> list[tuple[Points, list[Points]]]:
    """Outer ring and holes of every part."""
    return [
        (
            shapely.get_coordinates(part.exterior),
            [shapely.get_coordinates(hole) for hole in part.interiors],
        )
        for part in shapely.get_parts(shape)
    ]


def _fill(
    picture: Image.Image,
    pen: ImageDraw.ImageDraw,
    rings: list[tuple[Points, list[Points]]],
    place: Affines,
    window: Window,
    label: int,
) -> None:
    k = picture.width / window.width
    corner = np.array([window.x, window.y])

    def spots(ring: Points) -> list[tuple[float, float]]:
        return [(float(x), float(y)) for x, y in (apply(place, ring) - corner) * k - 0.5]

    for outer, holes in rings:
        if not holes:
            pen.polygon(spots(outer), fill=label)
            continue
        mask = Image.new("L", picture.size)
        cut = ImageDraw.Draw(mask)
        cut.polygon(spots(outer), fill=255)
        for hole in holes:
            cut.polygon(spots(hole), fill=0)
        picture.paste(label, mask=mask)


def piece_masks(rig: Rig, sample: Sample, width_px: int, row: int) -> Ints:
    """(n_pieces + 1, h, w), 1 where each piece lies, hidden or not; last the body."""
    window = stage_window(rig, sample)
    size = (width_px, round(width_px * window.height / window.width))
    pieces, bones = piece_transforms(rig, sample)[row], bone_transforms(rig, sample)[row]
    groups = [
        *(
            [(shape, place)]
            for shape, place in zip(shown_shapes(rig, sample, row), pieces, strict=True)
        ),
        [(bone.body, place) for bone, place in zip(rig.figure.bones, bones, strict=True)],
    ]
    out = np.zeros((len(groups), size[1], size[0]), dtype=np.int64)
    for at, group in enumerate(groups):
        picture = Image.new("I", size, 0)
        pen = ImageDraw.Draw(picture)
        for shape, place in group:
            _fill(picture, pen, _rings(shape), place, window, 1)
        out[at] = np.asarray(picture)
    return out
