"""The frames file: the finished shot as outlines, one line a frame, for anyone's checks."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import shapely

from panelbeater.exports.ending import last_pose
from panelbeater.exports.files import write_whole
from panelbeater.geometry.stage import (
    bone_outlines,
    piece_outlines,
    piece_scales,
)
from panelbeater.terms.arrays import Flags, Floats, Ints
from panelbeater.terms.drawing import Piece, Shape
from panelbeater.terms.rig import Rig, Sample

ALL_DIGITS = 17
"""Enough decimals to read back the same number; "as many as needed" (-1) would cut outlines
that were set on a grid to the decimals of the grid's step."""
STAGE_DIGITS = 10
"""Digits kept after frame 0, counted from the size of the stage: finer than any promise."""


def frame_lines(
    rig: Rig, sample: Sample, covers: Mapping[str, str], *, times: Sequence[float]
) -> Iterator[str]:
    """One JSON text a sampled moment, without header or line ends; nothing is written.

    `times` are the frames the moments stand for, one per row of `sample`; half frames are
    allowed (their "frame" is then not whole). `covers` maps piece id to region id. Drawing
    units, stage frame, y down. The vehicle's frame keeps every digit of the outlines.
    """
    scales = piece_scales(sample)  # (n_times, n_pieces)
    for row, time in enumerate(times):
        is_vehicle = rig.shot.master(float(time)) == 0.0
        digits = ALL_DIGITS if is_vehicle else _stage_decimals(rig)
        # Depth belongs to whole frames: a half frame shows the order before it.
        depths = rig.depth[min(math.floor(time), len(rig.depth) - 1)]
        pieces = _pieces(rig, covers, depths, scales[row], sample.visible[row])
        for i, outline in enumerate(piece_outlines(rig, sample, row)):
            if sample.redrawn[row, i]:
                pieces[i]["redrawn"] = True
            pieces[i]["wkt"] = _wkt(outline, digits)
        line = {
            "frame": int(time) if float(time).is_integer() else float(time),
            "master": rig.shot.master(float(time)),
            "bones": _bones(rig, sample, row, digits),
            "pieces": pieces,
        }
        yield _text(line)


def export_frames(rig: Rig, sample: Sample, path: Path, covers: Mapping[str, str]) -> None:
    """Write frames.ndjson: a header line, then one line a whole frame from 0.

    `sample` holds one moment per frame; `covers` maps piece id to region id.
    """
    times = range(rig.shot.n_frames)

    def chunks() -> Iterator[bytes]:
        yield header_line(rig).encode() + b"\n"
        for line in frame_lines(rig, sample, covers, times=times):
            yield line.encode() + b"\n"

    write_whole(path, chunks())


def header_line(rig: Rig) -> str:
    """The first line: the shot, both silhouettes, the regions and the pieces as drawn.

    Where only some limbs open, `figure` is the outline of the body in its last pose and the
    regions are those of the open limbs.
    """
    figure, regions = last_pose(rig)
    return _text(
        {
            "format": "panelbeater-frames",
            "version": 1,
            "fps": rig.shot.fps,
            "frames": rig.shot.n_frames,
            **_part(rig),
            "ground": rig.ground,
            "vehicle": _wkt(rig.drawing.silhouette, ALL_DIGITS),
            "figure": _wkt(figure, ALL_DIGITS),
            "regions": [
                {
                    "id": bone.id,
                    "controller": bone.controller,
                    "wkt": _wkt(region, ALL_DIGITS),
                }
                for bone, region in regions
            ],
            "pieces": [
                {
                    "id": piece.id,
                    "kind": piece.kind,
                    "signature": piece.signature,
                    "mirror": piece.mirror,
                    "wkt": _wkt(piece.outline, ALL_DIGITS),
                    **_redrawn(piece),
                }
                for piece in rig.drawing.pieces
            ],
        }
    )


def _part(rig: Rig) -> dict[str, Any]:
    """Which way the shot plays and what of the body opens, where that is not the rule."""
    said: dict[str, Any] = {"reverse": True} if rig.shot.reverse else {}
    if rig.shot.only:
        said["only"] = list(rig.shot.only)
    return said


def _redrawn(piece: Piece) -> dict[str, str]:
    if piece.redrawn is None:
        return {}
    return {"redrawn": _wkt(piece.redrawn.outline, ALL_DIGITS)}


def _bones(rig: Rig, sample: Sample, row: int, digits: int) -> list[dict[str, Any]]:
    return [
        {"id": bone.id, "controller": bone.controller, "wkt": _wkt(shape, digits)}
        for bone, shape in zip(
            rig.figure.bones, bone_outlines(rig, sample, row), strict=True
        )
    ]


def _pieces(
    rig: Rig, covers: Mapping[str, str], depths: Ints, scales: Floats, visible: Flags
) -> list[dict[str, Any]]:
    return [
        {
            "id": track.piece,
            "bone": track.bone,
            "region": covers[track.piece],
            "depth": depth,
            "scale": scale,
            "visible": shown,
        }
        for track, depth, scale, shown in zip(
            rig.tracks, depths.tolist(), scales.tolist(), visible.tolist(), strict=True
        )
    ]


def _stage_decimals(rig: Rig) -> int:
    """Decimals that resolve 10^-STAGE_DIGITS of the stage."""
    size = max(
        abs(c) for c in (*rig.drawing.silhouette.bounds, *rig.figure.silhouette.bounds)
    )
    return max(0, STAGE_DIGITS - math.ceil(math.log10(max(size, 1e-9))))


def _wkt(shape: Shape, decimals: int) -> str:
    return str(shapely.to_wkt(shape, rounding_precision=decimals))


def _text(line: dict[str, Any]) -> str:
    return json.dumps(line, allow_nan=False, separators=(",", ":"))
