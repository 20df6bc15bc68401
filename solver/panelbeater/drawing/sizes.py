"""Cut pieces that are too large for any body region into panels that fit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from shapely import Polygon

from panelbeater.drawing.cutout import part_artwork
from panelbeater.drawing.cutting import (
    LEAST_SHARE,
    Limits,
    box_sides,
    cut_polygon,
    n_parts_needed,
    shared_edges,
)
from panelbeater.drawing.pairs import mirror_pairs
from panelbeater.drawing.piece_rows import uncut_names
from panelbeater.svg import areas_of
from panelbeater.terms.drawing import KINDS, Drawing, Piece, Shape

THINNEST = 0.02
"""Least width of a part, as a share of the drawing's diagonal."""
BLEED = 0.001
"""How far a part's artwork runs on under its neighbour, as a share of the diagonal: without
it, two soft edges show a hairline where they meet."""
MOST_PIECES = 200


def cut_to_size(
    drawing: Drawing,
    *,
    largest_area: float,
    longest: float,
    min_pieces: int,
    piece_list: Path | None = None,
) -> Drawing:
    """The drawing with every piece small enough, and at least `min_pieces` where possible.

    A piece larger than `largest_area` (drawing units squared), or whose minimum rotated
    rectangle is longer than `longest`, falls into parts `door.1`, `door.2`, left to right
    (or top to bottom) by straight cuts. Wheels, lamps and pieces whose row in
    `piece_list` says `no` under `cut` stay whole. Parts keep the artwork of the whole,
    clipped; together they are exactly the whole. A piece that no sound cut divides stays as
    it is, with a warning.
    """
    if not (largest_area > 0 and longest > 0):
        raise ValueError("largest_area and longest must be positive")
    spared = uncut_names(piece_list) if piece_list is not None else frozenset()
    x0, y0, x1, y1 = drawing.silhouette.bounds
    diagonal = float(np.hypot(x1 - x0, y1 - y0))
    limits = Limits(largest_area, longest, THINNEST * diagonal)
    parts = {
        piece.id: _parts_of(piece, drawing, limits, spared) for piece in drawing.pieces
    }
    _cut_more(parts, drawing, limits, spared, min_pieces)
    return _rebuilt(drawing, parts, diagonal, limits)


def _may_be_cut(piece: Piece, spared: frozenset[str]) -> bool:
    return piece.kind not in ("wheel", "lamp") and piece.id not in spared


def _over(piece: Piece, drawing: Drawing) -> list[Shape]:
    return [other.outline for other in drawing.pieces if other.depth > piece.depth]


def _parts_of(
    piece: Piece, drawing: Drawing, limits: Limits, spared: frozenset[str]
) -> list[Shape]:
    if not _may_be_cut(piece, spared) or n_parts_needed(piece.outline, limits) < 2:
        return [piece.outline]
    found: list[Shape] = []
    for lump in _lumps(piece.outline):
        if not isinstance(lump, Polygon):
            found.append(lump)
            continue
        found += shared_edges(cut_polygon(lump, _over(piece, drawing), limits))
    return found


def _lumps(outline: Shape) -> list[Shape]:
    """Separate parts; crumbs stay with the nearest larger one."""
    parts = sorted(shapely.get_parts(outline), key=lambda part: (-part.area, part.bounds))
    large = [part for part in parts if part.area >= LEAST_SHARE * outline.area]
    groups: list[list[Polygon]] = [[part] for part in large]
    for crumb in parts[len(large) :]:
        nearest = min(range(len(large)), key=lambda k: large[k].distance(crumb))
        groups[nearest].append(crumb)
    return [areas_of(shapely.union_all(group)) for group in groups]


def _cut_more(
    parts: dict[str, list[Shape]],
    drawing: Drawing,
    limits: Limits,
    spared: frozenset[str],
    min_pieces: int,
) -> None:
    """Halve the largest part, again and again, until there are enough."""
    by_id = {piece.id: piece for piece in drawing.pieces}
    closed = {name for name, piece in by_id.items() if not _may_be_cut(piece, spared)}
    stuck: set[tuple[str, int]] = set()
    while sum(map(len, parts.values())) < min(min_pieces, MOST_PIECES):
        open_parts = [
            (shape.area, name, k)
            for name, shapes in parts.items()
            if name not in closed
            for k, shape in enumerate(shapes)
            if (name, id(shape)) not in stuck
        ]
        if not open_parts:
            return
        _, name, k = max(open_parts)
        shape = parts[name][k]
        lumps = _lumps(shape)
        if len(lumps) == 1 and isinstance(shape, Polygon):
            halves = cut_polygon(shape, _over(by_id[name], drawing), limits, n_least=2)
        else:
            halves = [lump for lump in lumps if isinstance(lump, Polygon)]
        if len(halves) < 2 or len(halves) < len(lumps):
            stuck.add((name, id(shape)))
            continue
        parts[name][k : k + 1] = halves


def _rebuilt(
    drawing: Drawing, parts: dict[str, list[Shape]], diagonal: float, limits: Limits
) -> Drawing:
    pieces: list[Piece] = []
    defs, warnings = drawing.defs, list(drawing.warnings)
    for piece in drawing.pieces:
        shapes = parts[piece.id]
        if len(shapes) == 1:
            pieces.append(replace(piece, depth=len(pieces)))
            continue
        ordered = _in_reading_order(_edge_to_edge(shapes), piece.outline)
        main = max(range(len(ordered)), key=lambda k: ordered[k].area)
        for k, shape in enumerate(ordered):
            clip = f"pb-cut-{piece.id}.{k + 1}"
            wide = areas_of(shape.buffer(BLEED * diagonal, join_style="mitre"))
            artwork, needed = part_artwork(
                piece.artwork, wide, clip=clip, diagonal=diagonal
            )
            defs += needed
            pieces.append(
                replace(
                    piece,
                    id=f"{piece.id}.{k + 1}",
                    outline=shape,
                    depth=len(pieces),
                    artwork=artwork,
                    signature=piece.signature and k == main,
                    mirror=None,
                    cut_from=piece.id,
                )
            )
    pieces = _paired_again(pieces)
    for piece in pieces:
        if piece.kind in ("wheel", "lamp") or n_parts_needed(piece.outline, limits) < 2:
            continue
        side = box_sides(piece.outline)[0]
        warnings.append(
            f"{drawing.source}: piece '{piece.id}' stays larger than wished "
            f"(area {piece.outline.area:.4g}, length {side:.4g})"
        )
    return replace(drawing, pieces=tuple(pieces), defs=defs, warnings=tuple(warnings))


def _edge_to_edge(shapes: list[Shape]) -> list[Shape]:
    """Parts cut in several goes share their corners, too."""
    plain = [shape for shape in shapes if isinstance(shape, Polygon)]
    rest = [shape for shape in shapes if not isinstance(shape, Polygon)]
    return [*shared_edges(plain), *rest]


def _in_reading_order(shapes: list[Shape], whole: Shape) -> list[Shape]:
    x0, y0, x1, y1 = whole.bounds
    is_wide = x1 - x0 >= y1 - y0

    def place(shape: Shape) -> tuple[float, float]:
        x, y = shape.centroid.x, shape.centroid.y
        return (x, y) if is_wide else (y, x)

    return sorted(shapes, key=place)


def _name_of(name: str) -> str:
    """The name a piece was given; empty for panel_3 and the like, which we made up."""
    word = name.split(".")[0].rpartition("_")[0]
    return "" if word in (*KINDS, "detail") else name


def _paired_again(pieces: list[Piece]) -> list[Piece]:
    """Mirror pairs among parts, and without those whose partner was cut."""
    names = {piece.id for piece in pieces}
    paired = [
        piece if piece.mirror in names else replace(piece, mirror=None) for piece in pieces
    ]
    single = [k for k, piece in enumerate(paired) if piece.mirror is None]
    found = mirror_pairs(
        [paired[k].kind for k in single],
        [paired[k].outline for k in single],
        [_name_of(paired[k].id) for k in single],
    )
    for k, other in found.items():
        mine = single[k]
        paired[mine] = replace(paired[mine], mirror=paired[single[other]].id)
    return paired
