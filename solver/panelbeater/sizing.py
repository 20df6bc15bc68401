"""Cuts the vehicle to the figure's size and marks its pieces as the animator asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely

from panelbeater.drawing import apply_piece_list, cut_to_size
from panelbeater.errors import DrawingError
from panelbeater.terms.drawing import Drawing, Shape, Wishes
from panelbeater.terms.figure import Figure


def sized(drawing: Drawing, figure: Figure, piece_list: Path | None) -> Drawing:
    """Cut what is larger than any region could wear, then apply the animator's list."""
    regions = [bone.region for bone in figure.bones]
    boxes = [shapely.get_coordinates(shapely.minimum_rotated_rectangle(r)) for r in regions]
    longest = max(float(np.hypot(*np.diff(box, axis=0).T).max()) for box in boxes)
    largest = max(region.area for region in regions)
    cut = cut_to_size(
        drawing, largest_area=1.1 * largest, longest=1.2 * longest,
        min_pieces=len(regions) + 3, piece_list=piece_list,
    )  # fmt: skip
    return apply_piece_list(cut, piece_list) if piece_list else cut


def wished(drawing: Drawing, wishes: Mapping[str, Wishes]) -> Drawing:
    """Pins and bans of the brief on top of what the piece list says."""
    known = {piece.id for piece in drawing.pieces}
    unknown = sorted(set(wishes) - known)
    if unknown:
        raise DrawingError(
            f"no piece {unknown[0]!r} to pin or ban; there are {', '.join(sorted(known))}"
        )
    pieces = tuple(
        replace(
            p,
            outline=_off_grid(p.outline),
            wishes=replace(wishes.get(p.id, p.wishes), stow=p.wishes.stow),
        )
        for p in drawing.pieces
    )
    return replace(drawing, pieces=pieces)


def _off_grid(shape: Shape) -> Shape:
    """The same corners, no longer tied to the grid they were read on.

    On a grid a centroid snaps to it, and a piece read back from plan.json, where the grid
    is not kept, would turn about another point.
    """
    return shapely.set_precision(shape, 0, mode="pointwise")
