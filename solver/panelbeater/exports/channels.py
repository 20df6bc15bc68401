"""Sparse keys for players that join keys themselves: few to edit, no difference to see."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from panelbeater.geometry.frames import apply, polar
from panelbeater.terms.arrays import Affines, Floats, Points

ROUND = 1e-7
"""Stretch below which a piece has no axis of its own to stretch along."""


def split(transforms: Affines) -> Floats:
    """Move, turn, skew and scale of (n, 3, 3) transforms; (n, 6): x, y, turn, skew, sx, sy.

    linear = rotation(turn) @ skew-x(skew) @ diag(sx, sy), the Gram-Schmidt split (Golub and
    Van Loan, Matrix Computations, 5.2.7); turns run on past a half turn without a jump.
    Skew is an angle in radians, as SVG's skewX takes it.
    """
    a, c = transforms[:, 0, 0], transforms[:, 0, 1]
    b, d = transforms[:, 1, 0], transforms[:, 1, 1]
    sx = np.hypot(a, b)
    turn = np.unwrap(np.arctan2(b, a))
    cos, sin = np.cos(turn), np.sin(turn)
    sy = -sin * c + cos * d
    skew = np.arctan2(cos * c + sin * d, sy)
    return np.stack([transforms[:, 0, 2], transforms[:, 1, 2], turn, skew, sx, sy], axis=-1)


def join(channels: Floats) -> Affines:
    """The transforms of (n, 6) channels; inverse of `split`."""
    x, y, turn, skew, sx, sy = channels.T
    cos, sin, lean = np.cos(turn), np.sin(turn), np.tan(skew)
    out = np.zeros((len(channels), 3, 3))
    out[:, 0, 0], out[:, 1, 0] = cos * sx, sin * sx
    out[:, 0, 1], out[:, 1, 1] = (cos * lean - sin) * sy, (sin * lean + cos) * sy
    out[:, 0, 2], out[:, 1, 2], out[:, 2, 2] = x, y, 1.0
    return out


def split_turned(transforms: Affines) -> Floats:
    """Move, turn, inner turn and scale of (n, 3, 3); (n, 6): x, y, turn, inner, sx, sy.

    linear = rotation(turn) @ diag(sx, sy) @ rotation(inner): for players that know neither
    skew nor matrices. The axes of stretch are followed from moment to moment (they may swap
    at a quarter turn) and borrowed from the nearest moment where the stretch is even.
    """
    turn, stretch = polar(transforms[:, :2, :2])
    a, b, d = stretch[:, 0, 0], stretch[:, 0, 1], stretch[:, 1, 1]
    middle, uneven = (a + d) / 2, np.hypot((a - d) / 2, b)
    axis = np.arctan2(b, (a - d) / 2) / 2
    known = np.flatnonzero(uneven > ROUND * np.maximum(np.abs(middle), 1e-12))
    if known.size == 0:
        axis = np.zeros(len(axis))
    else:
        moments = np.arange(len(axis))
        nearest = known[np.abs(moments[:, None] - known).argmin(axis=1)]
        axis = np.unwrap(axis[nearest], period=np.pi / 2)
        axis = axis - np.pi / 2 * np.rint(axis[0] / (np.pi / 2))
    cos, sin = np.cos(axis), np.sin(axis)
    sx = a * cos * cos + 2 * b * cos * sin + d * sin * sin
    sy = a * sin * sin - 2 * b * cos * sin + d * cos * cos
    outer = np.unwrap(turn) + axis
    return np.stack(
        [transforms[:, 0, 2], transforms[:, 1, 2], outer, -axis, sx, sy], axis=-1
    )


def join_turned(channels: Floats) -> Affines:
    """The transforms of (n, 6) channels; inverse of `split_turned`."""
    x, y, turn, inner, sx, sy = channels.T
    cos, sin, c, s = np.cos(turn), np.sin(turn), np.cos(inner), np.sin(inner)
    out = np.zeros((len(channels), 3, 3))
    out[:, 0, 0], out[:, 0, 1] = cos * sx * c - sin * sy * s, -cos * sx * s - sin * sy * c
    out[:, 1, 0], out[:, 1, 1] = sin * sx * c + cos * sy * s, -sin * sx * s + cos * sy * c
    out[:, 0, 2], out[:, 1, 2], out[:, 2, 2] = x, y, 1.0
    return out


@dataclass(frozen=True, slots=True)
class Way:
    """One way to say a transform in numbers that a player joins by straight lines."""

    split: Callable[[Affines], Floats]
    join: Callable[[Floats], Affines]


SKEWED = Way(split, join)
TURNED = Way(split_turned, join_turned)


def sparse_keys(
    transforms: Affines, points: Points, tolerance: float, way: Way = SKEWED
) -> list[int]:
    """Frames to keep so that straight channels between them stay within `tolerance`.

    `transforms` (n_frames, 3, 3) carry `points` (n_points, 2); the error is the farthest
    any point strays at a whole frame, in drawing units. Both ends are always kept.
    Splits at the worst frame until all is within reach (Ramer 1972; Douglas and Peucker
    1973).
    """
    wanted = apply(transforms, points)  # (n_frames, n_points, 2)
    return _keys(
        way.split(transforms), lambda rows: apply(way.join(rows), points), wanted, tolerance
    )


def sparse_points(points: Points, tolerance: float) -> list[int]:
    """Frames to keep so that (n_frames, n_points, 2) points joined by straight lines stay
    within `tolerance` of their places.
    """
    flat = points.reshape(len(points), -1)
    return _keys(flat, lambda rows: rows.reshape(len(rows), -1, 2), points, tolerance)


def _keys(
    channels: Floats,
    draw: Callable[[Floats], Points],
    wanted: Points,
    tolerance: float,
) -> list[int]:
    keys = {0, len(channels) - 1}
    spans = [(0, len(channels) - 1)]
    while spans:
        start, end = spans.pop()
        share = np.linspace(0.0, 1.0, end - start + 1)[:, None]
        straight = channels[start] * (1 - share) + channels[end] * share
        off = np.linalg.norm(draw(straight) - wanted[start : end + 1], axis=-1)
        stray = off.max(axis=1, initial=0.0)
        worst = start + int(np.argmax(stray))
        if stray[worst - start] > tolerance and start < worst < end:
            keys.add(worst)
            spans += [(start, worst), (worst, end)]
    return sorted(keys)
