"""How much a piece still looks as it was drawn."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.geometry.frames import map_shape
from panelbeater.geometry.overlay import shared_areas
from panelbeater.terms.drawing import Shape

ALIKE = 0.86
"""A piece is known again from 0.85 on (metrics.md); a hair more, because the judge has
other corners of a bent one."""


def likeness(drawn: Shape, worn: Shape) -> float:
    """Area that two outlines share over that of both, 0 to 1, once the move, turn and size
    are undone that bring corresponding corners nearest (Umeyama 1991, in the plane).
    """
    one, other = (_corners(shape) for shape in (drawn, worn))
    start, end = one - one.mean(), other - other.mean()
    turn = np.vdot(start, end) / np.vdot(start, start)
    move = other.mean() - turn * one.mean()
    undone = np.array(
        [[turn.real, -turn.imag, move.real], [turn.imag, turn.real, move.imag], [0, 0, 1]]
    )
    again = map_shape(undone, drawn)
    common = float(shared_areas(again, worn))
    return common / (again.area + worn.area - common)


def _corners(shape: Shape) -> np.ndarray:
    """(n,) complex, corners of all rings, each once."""
    rings = [
        shapely.get_coordinates(ring)[:-1]
        for part in shapely.get_parts(shape)
        for ring in (part.exterior, *part.interiors)
    ]
    xy = np.concatenate(rings)
    out: np.ndarray = xy[:, 0] + 1j * xy[:, 1]
    return out
