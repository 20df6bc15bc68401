"""The second drawing of a piece: an SVG file beside the piece list, for the robot."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np

from panelbeater.drawing.piece_rows import Problems, Row
from panelbeater.errors import DrawingError
from panelbeater.geometry.frames import map_shape, moved
from panelbeater.geometry.overlay import joined
from panelbeater.svg import read_svg
from panelbeater.svg.outlines import areas_of
from panelbeater.terms.drawing import Piece, Redrawing


def read_redrawing(path: Path, piece: Piece, number: int) -> tuple[Redrawing, str]:
    """The drawing at `path` for one piece, and the definitions it needs.

    Drawn to the scale of the vehicle; where on its page does not matter, as its centroid is
    laid on the piece's. `number` keeps its ids apart from other files'. Raises DrawingError
    when it cannot be read or paints nothing.
    """
    svg = read_svg(path)
    shown = [s for s in svg.shapes if not s.hidden and s.outline.area > 0]
    if not shown:
        raise DrawingError(f"{path.name}: paints nothing; draw the piece as filled shapes")
    outline = areas_of(joined([shape.outline for shape in shown]))
    there, here = piece.outline.centroid, outline.centroid
    x, y = there.x - here.x, there.y - here.y
    filled = [shape for shape in shown if shape.fill != "none"] or shown
    largest = filled[int(np.argmax([shape.outline.area for shape in filled]))]
    artwork = "".join(shape.markup for shape in shown)
    redrawn = Redrawing(
        map_shape(moved(x, y), outline),
        f'<g transform="translate({x!r} {y!r})">{_own_ids(artwork, number)}</g>',
        largest.fill if largest.fill != "none" else largest.stroke,
        source=os.path.abspath(path),
    )
    return redrawn, _own_ids(svg.defs, number)


def redrawn_pieces(
    pieces: dict[str, Piece], rows: dict[str, Row], folder: Path, problems: Problems
) -> tuple[dict[str, Redrawing], str]:
    """Second drawings by piece, for every row that names one, and their definitions."""
    found: dict[str, Redrawing] = {}
    defs = ""
    for number, (name, row) in enumerate(sorted(rows.items())):
        try:
            found[name], own = read_redrawing(
                folder / row.cells["redrawn"], pieces[name], number
            )
        except DrawingError as error:
            problems.add(row, f"redrawn: {error}")
            continue
        defs += own
    return found, defs


def _own_ids(markup: str, number: int) -> str:
    """Ids of this file, which all start with pb-, told apart from the vehicle's."""
    return markup.replace('"pb-', f'"pb-r{number}-').replace("#pb-", f"#pb-r{number}-")
