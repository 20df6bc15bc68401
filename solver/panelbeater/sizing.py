"""Finds the size of the robot that hides in the vehicle, cuts the vehicle to that size and
marks its pieces as the animator asked.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely

from panelbeater.drawing import apply_piece_list, cut_to_size
from panelbeater.errors import DrawingError, NoFoldError
from panelbeater.figure import place_figure
from panelbeater.fold import PATIENCE
from panelbeater.terms.assignment import Asked
from panelbeater.terms.drawing import Drawing, Shape, Wishes
from panelbeater.terms.figure import BONE_IDS, CONTROLLERS, Figure
from panelbeater.terms.pose import Fold

FIGURE_SHARE = 1.0
"""Figure area as a share of the vehicle's: more leaves limbs bare, less heaps the pieces
up.
"""
SPARE = 9
"""Pieces beyond one a region that a vehicle is cut to at least: 24. With 18 few plates fit
a limb: they hang over it, hide each other, or leave it bare.
"""
SHRINKS = (0.93, 0.93, 0.93, 0.93, 0.85, 0.85, 0.85)
"""A figure that cannot hide is tried so much smaller each time: gently while the robot
keeps its stature, then boldly, because a bicycle hides only a small body."""


def largest_that_hides(
    drawing: Drawing,
    standing: Figure,
    height: float | None,
    hide: Callable[[Figure, int], tuple[Fold, ...]],
) -> tuple[Figure, tuple[Fold, ...]]:
    """The largest figure whose body hides in the vehicle, and its folds.

    height : of the robot, in units of the vehicle drawing; found from the areas, and from
    there down, when None. hide : takes a figure, and the patience it is worth: none while a
    smaller one may do. Raises NoFoldError when it does at every size, and says behind which
    piece the rest could hide.
    """
    x0, _, x1, ground = drawing.silhouette.bounds
    share = FIGURE_SHARE * drawing.silhouette.area / standing.silhouette.area
    shrinks = () if height else SHRINKS
    height = height or standing.height * share**0.5
    for attempt in range(len(shrinks) + 1):
        figure = place_figure(
            standing, height=height, centre_x=(x0 + x1) / 2, ground=ground
        )
        try:
            return figure, hide(figure, PATIENCE if attempt == len(shrinks) else 0)
        except NoFoldError as refused:
            if attempt == len(shrinks):
                words = f"{refused}{_what_would_hide(drawing, refused)}"
                raise NoFoldError(words, refused.showing) from None
            height *= shrinks[attempt]
    raise AssertionError("unreachable: the last attempt returns or raises")


def _what_would_hide(drawing: Drawing, refused: NoFoldError) -> str:
    """For each limb that shows, the piece that hides it if it reaches a little further."""
    outlines = [piece.outline for piece in drawing.pieces]
    further = []
    for bone, part in refused.showing.items():
        corners = shapely.points(shapely.get_coordinates(part))
        reach = [shapely.distance(corners, outline).max() for outline in outlines]
        nearest = int(np.argmin(reach))
        further.append(f"{drawing.pieces[nearest].id} by {reach[nearest]:.3g} for {bone}")
    return f"; or let pieces reach further: {', '.join(further)}" if further else ""


def sized(drawing: Drawing, figure: Figure, piece_list: Path | None) -> Drawing:
    """Cut what is larger than any region could wear, then apply the animator's list."""
    regions = [bone.region for bone in figure.bones]
    boxes = [shapely.get_coordinates(shapely.minimum_rotated_rectangle(r)) for r in regions]
    longest = max(float(np.hypot(*np.diff(box, axis=0).T).max()) for box in boxes)
    largest = max(region.area for region in regions)
    cut = cut_to_size(
        drawing, largest_area=1.1 * largest, longest=1.2 * longest,
        min_pieces=len(regions) + SPARE, piece_list=piece_list,
    )  # fmt: skip
    return apply_piece_list(cut, piece_list) if piece_list else cut


def wished(drawing: Drawing, wishes: Mapping[str, Wishes], asked: Asked) -> Drawing:
    """Pins and bans of the brief on top of what the piece list says.

    Raises DrawingError where they, or what is asked of pieces on their way, name a piece
    that is not there.
    """
    _check_clear(drawing, asked.clear)
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


def _check_clear(drawing: Drawing, clear: Mapping[str, Sequence[str]]) -> None:
    pieces = [piece.id for piece in drawing.pieces]
    known = [*pieces, *BONE_IDS, *CONTROLLERS]
    names = [(name, pieces) for name in clear]
    names += [(name, known) for others in clear.values() for name in others]
    unknown = sorted({name for name, among in names if name not in among})
    if unknown:
        raise DrawingError(
            f"no piece {unknown[0]!r} to keep clear; pieces: {', '.join(sorted(pieces))}; "
            f"to keep clear of also {', '.join(dict.fromkeys(known[len(pieces) :]))}"
        )


def _off_grid(shape: Shape) -> Shape:
    """The same corners, no longer tied to the grid they were read on.

    On a grid a centroid snaps to it, and a piece read back from plan.json, where the grid
    is not kept, would turn about another point.
    """
    return shapely.set_precision(shape, 0, mode="pointwise")
