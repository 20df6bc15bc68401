"""Reading a finished shot's frames file, with one clear line on what is wrong in it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path

from panelbeater.errors import DrawingError
from panelbeater.scores.fields import LARGEST, Fields, as_object
from panelbeater.scores.shot import (
    BoneShape,
    DrawnPiece,
    Frame,
    InputPiece,
    RegionShape,
    Shot,
)

FORMAT = "panelbeater-frames"
VERSIONS = (1,)
MOST_BYTES = 512 * 2**20
"""A thousand frames of sixty pieces take about a quarter."""
FPS_RANGE = (0.1, 1000.0)


def read_frames(path: Path) -> Shot:
    """Read `frames.ndjson`.

    Raises `DrawingError` with the file and line when it cannot be read or is malformed.
    """
    try:
        if path.exists() and not path.is_file():  # a pipe would keep us waiting
            raise DrawingError(f"cannot read frames file {path}: it is no plain file")
        if path.stat().st_size > MOST_BYTES:
            raise DrawingError(f"{path}: larger than 512 MiB; plan a shorter shot")
        with path.open(encoding="utf-8") as lines:
            return parse_frames(lines, name=str(path))
    except UnicodeDecodeError as error:
        raise DrawingError(f"{path}: not UTF-8 text; plan again to rewrite it") from error
    except OSError as error:
        raise DrawingError(
            f"cannot read frames file {path.name}: {error.strerror} ({path})"
        ) from error


def parse_frames(lines: Iterable[str], *, name: str = "frames file") -> Shot:
    """Parse the lines of a frames file: a header, then one line a frame.

    Frames count 0, 1, 2, ... or, for the moments between, 0.5, 1.5, ...
    Raises `DrawingError` with `name` and the line number on anything malformed.
    """
    rows = _rows(lines, name)
    first = next(rows, None)
    if first is None:
        raise DrawingError(f"{name}, line 1: empty file; a header line is expected")
    header = Fields(first[1], f"{name}, line {first[0]}")
    n_frames = _check_header(header)
    pieces = _input_pieces(header)
    known = frozenset(piece.id for piece in pieces)
    frames: list[Frame] = []
    line = first[0]
    for line, row in rows:
        where = Fields(row, f"{name}, line {line}")
        frame = _frame(where, known)
        _check_number(where, frame.frame, frames)
        frames.append(frame)
    _check_count(frames, n_frames, f"{name}, line {line}")
    return Shot(
        fps=header.number("fps"),
        ground=header.number("ground"),
        vehicle=header.shape("vehicle"),
        figure=header.shape("figure"),
        regions=_regions(header),
        pieces=pieces,
        frames=tuple(frames),
        reverse=header.has("reverse") and header.flag("reverse"),
        only=tuple(header.texts("only")) if header.has("only") else (),
    )


def _rows(lines: Iterable[str], name: str) -> Iterator[tuple[int, dict[str, object]]]:
    for number, text in enumerate(lines, start=1):
        if not text.strip():
            continue
        where = f"{name}, line {number}"
        try:
            row = json.loads(text, parse_constant=_refuse)
        except (ValueError, RecursionError) as error:
            raise DrawingError(f"{where}: not a JSON object ({error})") from error
        yield number, as_object(row, where)


def _refuse(name: str) -> float:
    raise ValueError(f"{name} is not a number a drawing can hold")


def _check_header(header: Fields) -> int:
    if header.text("format") != FORMAT:
        raise DrawingError(f"{header.where}: format must be {FORMAT!r}")
    if header.whole("version") not in VERSIONS:
        raise DrawingError(
            f"{header.where}: version {header.whole('version')} is not one this judge reads"
            f" ({', '.join(map(str, VERSIONS))})"
        )
    if not FPS_RANGE[0] <= header.number("fps") <= FPS_RANGE[1]:
        raise DrawingError(
            f"{header.where}: fps must be from {FPS_RANGE[0]:g} to {FPS_RANGE[1]:g}"
        )
    for name in ("vehicle", "figure"):
        if header.shape(name).area <= 0:
            raise DrawingError(f"{header.where}: {name} has no area")
    return header.whole("frames")


def _regions(header: Fields) -> tuple[RegionShape, ...]:
    return tuple(
        RegionShape(row.text("id"), row.text("controller"), shape)
        for row, shape in header.shaped("regions")
    )


def _input_pieces(header: Fields) -> tuple[InputPiece, ...]:
    pieces = []
    for row, shape in header.shaped("pieces"):
        if shape.area <= 0:
            raise DrawingError(f"{row.where}: outline has no area")
        pieces.append(
            InputPiece(
                row.text("id"),
                row.text("kind"),
                row.flag("signature"),
                row.text_or_none("mirror"),
                shape,
                row.shape("redrawn") if row.has("redrawn") else None,
            )
        )
    if not pieces:
        raise DrawingError(f"{header.where}: no pieces")
    return tuple(pieces)


def _frame(row: Fields, known: frozenset[str]) -> Frame:
    bones = tuple(
        BoneShape(bone.text("id"), bone.text("controller"), shape)
        for bone, shape in row.shaped("bones")
    )
    bone_ids = frozenset(bone.id for bone in bones)
    pieces = []
    for piece, shape in row.shaped("pieces"):
        drawn = DrawnPiece(
            piece.text("id"),
            piece.text("bone"),
            piece.text_or_none("region"),
            piece.whole("depth"),
            piece.number("scale"),
            piece.flag("visible"),
            shape,
            piece.has("redrawn") and piece.flag("redrawn"),
        )
        if drawn.visible and drawn.scale < 1 / LARGEST:
            raise DrawingError(f"{piece.where}: 'scale' must be above 0 while it is seen")
        if drawn.id not in known:
            raise DrawingError(f"{row.where}: piece {drawn.id!r} is not in the header")
        if drawn.bone not in bone_ids:
            raise DrawingError(
                f"{piece.where}: rides {drawn.bone!r}, which is no bone here"
            )
        if drawn.visible and shape.area <= 0:
            raise DrawingError(f"{piece.where}: visible, but its outline has no area")
        pieces.append(drawn)
    return Frame(row.number("frame"), row.number("master"), bones, tuple(pieces))


def _check_number(row: Fields, number: float, before: list[Frame]) -> None:
    allowed = (before[-1].frame + 1,) if before else (0.0, 0.5)
    if number not in allowed:
        wanted = " or ".join(f"{value:g}" for value in allowed)
        raise DrawingError(f"{row.where}: frame is {number:g}; {wanted} is expected")


def _check_count(frames: list[Frame], promised: int, where: str) -> None:
    between = bool(frames) and frames[0].frame == 0.5
    allowed = (promised, promised - 1) if between else (promised,)
    if not frames or len(frames) not in allowed:
        raise DrawingError(
            f"{where}: the file ends after {len(frames)} frames;"
            f" the header promises {promised}"
        )
