"""Takes back the changes of size that nobody can hide, where they cover little."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from panelbeater.assignment.bending import bend_covers, flat
from panelbeater.assignment.candidates import (
    HAIR,
    PieceForm,
    Placement,
    laid_again,
    piece_form,
)
from panelbeater.assignment.options import AssignmentOptions, options_for
from panelbeater.assignment.reasons import gains_of, with_gain
from panelbeater.assignment.refine import laid_by, refine_placements, unknowns_of
from panelbeater.assignment.together import refine_together
from panelbeater.effort import QUIET, Effort
from panelbeater.terms.arrays import Floats
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import Figure

N_ROUNDS = 3
"""Rounds in which the pieces settle anew; they lay well before."""


def hide_sizes(
    drawing: Drawing,
    figure: Figure,
    layout: Assignment,
    rooms: Floats,
    *,
    ground: float,
    options: AssignmentOptions | None = None,
    effort: Effort = QUIET,
) -> Assignment:
    """The layout with no piece resized further than its way hides, settled anew; itself
    where there is nothing to take back.

    rooms : (n_pieces,), |ln scale| that the ways hide. A piece goes beyond it again where
    that covers so much more that it is worth being seen.
    """
    options = options or options_for(layout.asked)
    pieces = drawing.pieces
    forms = [piece_form(i, piece, options) for i, piece in enumerate(pieces)]
    unbent = replace(layout, covers=tuple(flat(cover) for cover in layout.covers))
    before = laid_again(drawing, unbent)
    laid: Sequence[Placement] = [
        _within(place, forms[i], float(rooms[i]), ground) for i, place in enumerate(before)
    ]
    if all(one is other for one, other in zip(laid, before, strict=True)):
        return layout
    laid = refine_placements(
        laid, forms, pieces, figure, ground, options,
        n_rounds=N_ROUNDS, effort=effort, rooms=rooms,
    )  # fmt: skip
    laid = refine_together(
        laid, forms, pieces, figure, ground, options, effort=effort, rooms=rooms
    )
    covers = [
        with_gain(
            replace(
                cover, stage_from_piece=place.stage_from_piece, scale=place.scale,
                stretch=place.stretch,
            ),
            gain,
        )
        for cover, place, gain in zip(
            unbent.covers, laid, gains_of(laid, figure), strict=True
        )
    ]  # fmt: skip
    return replace(
        layout, covers=bend_covers(pieces, figure, covers, ground, effort=effort)
    )


def _within(place: Placement, form: PieceForm, room: float, ground: float) -> Placement:
    """The placement at the nearest size within its room; itself where it is within."""
    x = unknowns_of(place, form)
    size = float(np.clip(x[3], -room, room))
    if place.stowed or abs(size - x[3]) <= HAIR:
        return place
    x[3] = size
    sized = laid_by(x, form, place.piece, place.region)
    x[1] -= max(0.0, sized.outline.bounds[3] - ground)
    return laid_by(x, form, place.piece, place.region)
