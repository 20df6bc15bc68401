"""Read a vehicle drawing and lay out its pieces."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely

from panelbeater.drawing.drafts import Draft, gather
from panelbeater.drawing.kinds import infer_kinds
from panelbeater.drawing.merging import (
    silhouette_of,
    with_crumbs_kept,
    with_hubs,
    without_backdrop,
)
from panelbeater.drawing.names import piece_ids
from panelbeater.drawing.pairs import mirror_pairs, signature_pieces
from panelbeater.drawing.parting import Splitter
from panelbeater.drawing.piece_rows import listed_kinds
from panelbeater.errors import DrawingError
from panelbeater.geometry.overlay import joined, without
from panelbeater.svg import SvgDrawing, SvgShape, read_svg, silhouette_match
from panelbeater.terms.drawing import Drawing, Piece, Shape

LEAST_MATCH = 0.98
"""IoU with an independent renderer below which we say that something was misread."""


def read_drawing(path: Path, *, piece_list: Path | None = None) -> Drawing:
    """The vehicle at `path` as pieces, far to near; drawing units are root user units.

    Of `piece_list` only the kinds are used here, since `cut_to_size` spares wheels and
    lamps; `apply_piece_list` applies and checks the rest once all pieces exist.

    Raises DrawingError, naming the file, when it cannot be read or paints nothing.
    """
    svg = read_svg(path)
    shapes, dropped = _painted(svg)
    shapes, backdrops = without_backdrop(shapes, svg.view_box)
    drafts = gather(shapes)
    splitter = Splitter(_diagonal(silhouette_of(drafts)))
    drafts = with_crumbs_kept(with_hubs(splitter.split_wheels(splitter.split(drafts))))
    silhouette = silhouette_of(drafts)
    pieces = _pieces(drafts, silhouette)
    if piece_list is not None:
        kinds = listed_kinds(piece_list)
        pieces = [replace(piece, kind=kinds.get(piece.id, piece.kind)) for piece in pieces]
    notes = [*dropped, *backdrops, *_hidden_pieces(pieces)]
    if not backdrops:
        notes += _check(path, svg, silhouette, drafts)
    return Drawing(
        pieces=tuple(pieces),
        silhouette=silhouette,
        defs=svg.defs + splitter.defs,
        source=path.name,
        warnings=(*svg.warnings, *(f"{path.name}: {note}" for note in notes)),
    )


def _painted(svg: SvgDrawing) -> tuple[list[SvgShape], list[str]]:
    shown = [shape for shape in svg.shapes if not shape.hidden and shape.outline.area > 0]
    clear = [shape for shape in shown if shape.opacity < 0.004]
    painted = [shape for shape in shown if shape.opacity >= 0.004]
    if not painted:
        raise DrawingError(
            f"{svg.source}: no filled or stroked shapes are visible; draw the vehicle as "
            "filled shapes, and convert text to outlines"
        )
    warnings = [f"{len(clear)} fully transparent shapes are left out"] if clear else []
    return painted, warnings


def _diagonal(shape: Shape) -> float:
    x0, y0, x1, y1 = shape.bounds
    return float(np.hypot(x1 - x0, y1 - y0))


def _pieces(drafts: list[Draft], silhouette: Shape) -> list[Piece]:
    kinds = infer_kinds(drafts, silhouette)
    outlines = [draft.outline for draft in drafts]
    centres = [(outline.centroid.x, outline.centroid.y) for outline in outlines]
    names = [draft.name for draft in drafts]
    ids = piece_ids(names, kinds, centres)
    mirror = mirror_pairs(kinds, outlines, names)
    signatures = signature_pieces(kinds, outlines, names)
    return [
        Piece(
            id=ids[k],
            kind=kinds[k],
            outline=outlines[k],
            depth=k,
            artwork=draft.artwork,
            colour=draft.colour,
            signature=k in signatures,
            mirror=ids[mirror[k]] if k in mirror else None,
        )
        for k, draft in enumerate(drafts)
    ]


def _hidden_pieces(pieces: list[Piece]) -> list[str]:
    notes = []
    outlines = np.array([piece.outline for piece in pieces], dtype=object)
    tree = shapely.STRtree(outlines)
    for k in range(len(pieces) - 1, -1, -1):
        found = tree.query(outlines[k], predicate="intersects")
        above = outlines[found[found > k]]
        is_hidden = bool(shapely.covers(above, outlines[k]).any())
        if not is_hidden and len(above):
            seen = without(outlines[k], joined(list(above))).area
            is_hidden = seen < 1e-3 * outlines[k].area
        if is_hidden:
            notes.append(f"piece '{pieces[k].id}' lies wholly hidden under others; kept")
    return notes


def _check(
    path: Path, svg: SvgDrawing, silhouette: Shape, drafts: list[Draft]
) -> list[str]:
    faintest = min(1.0, min(draft.opacity for draft in drafts))
    try:
        match = silhouette_match(path, silhouette, svg.view_box, faintest=faintest)
    except ValueError as error:
        return [f"could not be compared with a second renderer ({error})"]
    if match >= LEAST_MATCH:
        return []
    advice = "compare the preview with your drawing"
    return [f"our outlines match a second renderer by {match:.2f} only; {advice}"]
