"""Sparse keys for players that join keys themselves: few to edit, no difference to see."""

from __future__ import annotations

import numpy as np

from panelbeater.geometry.frames import apply
from panelbeater.terms.arrays import Affines, Floats, Points


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


def sparse_keys(transforms: Affines, points: Points, tolerance: float) -> list[int]:
    """Frames to keep so that straight channels between them stay within `tolerance`.

    `transforms` (n_frames, 3, 3) carry `points` (n_points, 2); the error is the farthest
    any point strays at a whole frame, in drawing units. Both ends are always kept.
    Splits at the worst frame until all is within reach (Ramer 1972; Douglas and Peucker
    1973).
    """
    channels = split(transforms)
    wanted = apply(transforms, points)  # (n_frames, n_points, 2)
    keys = {0, len(transforms) - 1}
    spans = [(0, len(transforms) - 1)]
    while spans:
        start, end = spans.pop()
        share = np.linspace(0.0, 1.0, end - start + 1)[:, None]
        straight = channels[start] * (1 - share) + channels[end] * share
        drawn = apply(join(straight), points)
        stray = np.linalg.norm(drawn - wanted[start : end + 1], axis=-1).max(axis=1)
        worst = start + int(np.argmax(stray))
        if stray[worst - start] > tolerance and start < worst < end:
            keys.add(worst)
            spans += [(start, worst), (worst, end)]
    return sorted(keys)
