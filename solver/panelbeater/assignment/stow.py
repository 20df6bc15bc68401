"""Pieces that end hidden: behind the body or shrunk away, at a price."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import numpy as np

from panelbeater.assignment.candidates import Placement
from panelbeater.geometry.stage import laid_outline
from panelbeater.terms.arrays import Floats
from panelbeater.terms.assignment import Cover
from panelbeater.terms.drawing import Piece
from panelbeater.terms.figure import Figure


def stowed_placements(
    pieces: Sequence[Piece], figure: Figure, placed: Collection[int]
) -> Iterator[Placement]:
    """A hiding place in every limb for each piece that may be stowed.

    A piece may be stowed where the animator allows it, or where it is not among those
    `placed` somewhere. One that is pinned somewhere in sight never is.
    """
    for index, piece in enumerate(pieces):
        wishes = piece.wishes
        if wishes.pin or not (wishes.stow or index not in placed):
            continue
        scale = piece.allowance.scale_min
        for region, bone in enumerate(figure.bones):
            if bone.id in wishes.bans:
                continue
            place = np.diag([scale, scale, 1.0])
            place[:2, 2] = bone.body.centroid.x, bone.body.centroid.y
            cover = Cover(piece.id, bone.id, place, scale, 1.0, 0.0, "", stowed=True)
            outline = laid_outline(piece, cover)
            yield Placement(index, region, place, scale, 1.0, outline, 0.0, stowed=True)


def charge_stowed(
    placements: Sequence[Placement], price: Floats, covers: np.ndarray, stow_price: float
) -> None:
    """A stowed placement covers nothing and costs `stow_price`, whatever else it would."""
    away = np.array([place.stowed for place in placements], dtype=bool)
    price[away] = stow_price
    covers[away] = False
