"""The hiding gate: when a change of a piece's size goes unnoticed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from panelbeater.terms.arrays import Flags, Floats, Ints, Points
from panelbeater.terms.drawing import Shape

PICTURE_RATIO = 16.0 / 9.0
PICTURE_MARGIN = 1.2
"""A tenth of the drawings' size is left free on every side of the shot's frame."""


@dataclass(frozen=True, slots=True)
class GateOptions:
    """What hides a change; speeds and distances are shares of the frame's width.

    Each is a little stricter than what metrics.md asks, so that rounding decides nothing.
    """

    moving: float = 0.00102
    speed: float = 0.0132
    """Share a frame: 10 degrees per second at 24 fps (Turi & Burr 2013)."""
    near: float = 0.245
    """Eight degrees of view (project)."""
    spread: float = 0.245
    """Neighbours within this share of the largest speed go along (Franconeri et al.
    2004)."""
    n_neighbours: int = 2
    """Suchow & Alvarez 2011; the count is the project's."""


def frame_width(vehicle: Shape, figure: Shape) -> float:
    """Width of a 16:9 frame that holds both drawings with a margin, drawing units."""
    a, b = vehicle.bounds, figure.bounds
    wide = max(a[2], b[2]) - min(a[0], b[0])
    high = max(a[3], b[3]) - min(a[1], b[1])
    return float(PICTURE_MARGIN * max(wide, high * PICTURE_RATIO))


def open_gates(
    centres: Points,
    ridden: Points,
    bones: Ints,
    areas: Floats,
    width: float,
    options: GateOptions,
) -> Flags:
    """(n_steps, n_pieces), steps in which each piece may change its size unseen.

    A gate is open for a piece that moves fast, with two neighbours that go along, and that
    is not the one the eye follows: the mover of the largest area times speed.
    centres, ridden : (n_frames, n_pieces, 2), stage; where each piece is, and where each
        would go from there, fixed to its bone: (n_steps, n_pieces, 2).
    bones : (n_pieces,), landing bones; areas : (n_steps, n_pieces).
    """
    step = np.diff(centres, axis=0)  # (s, p, 2)
    speed = np.hypot(step[..., 0], step[..., 1])
    moving = speed > options.moving * width
    largest = speed.max(axis=1, initial=0.0)[:, None, None]
    together = _apart(step) <= options.spread * largest
    same = bones[:, None] == bones[None, :]
    together |= same & (_apart(step - ridden) <= options.spread * largest)
    friends = together & (_apart(centres[:-1]) <= options.near * width)
    friends &= moving[:, :, None] & moving[:, None, :]
    counts = friends.sum(axis=2) - moving  # a mover is its own neighbour
    followed = np.argmax(areas * speed * moving, axis=1)
    gates: Flags = (speed >= options.speed * width) & (counts >= options.n_neighbours)
    gates[np.arange(len(gates)), followed] = False
    return gates


def _apart(values: Points) -> Floats:
    gap = values[:, :, None] - values[:, None, :]  # (s, p, p, 2)
    return np.hypot(gap[..., 0], gap[..., 1])
