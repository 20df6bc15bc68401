"""Spacing of in-betweens: slow out, fast in the middle, slow in."""

from __future__ import annotations

import numpy as np

from panelbeater.terms.arrays import Floats


def minimum_jerk(t: Floats) -> Floats:
    """Quintic ease of Flash & Hogan (1985): 10 t^3 - 15 t^4 + 6 t^5, held outside [0, 1].

    Peak speed is 1.875 times the mean.
    """
    t = np.clip(t, 0.0, 1.0)
    out: Floats = t**3 * (10.0 + t * (6.0 * t - 15.0))
    return out


CSS_EASES: dict[str, tuple[float, float, float, float]] = {
    "ease": (0.25, 0.1, 0.25, 1.0),
    "ease-in": (0.42, 0.0, 1.0, 1.0),
    "ease-out": (0.0, 0.0, 0.58, 1.0),
    "ease-in-out": (0.42, 0.0, 0.58, 1.0),
}
"""Named cubic Bezier eases of CSS Easing Functions Level 1 (W3C), section 2.2."""
EASES: tuple[str, ...] = ("minimum-jerk", "linear", *CSS_EASES)
"""Curves of time."""
WITH_LIMB = "with-limb"
"""No curve of time: a piece comes home as the limb that wears it unfolds."""


def cubic_bezier(t: Floats, x1: float, y1: float, x2: float, y2: float) -> Floats:
    """Progress at shares of time t, by CSS Easing Functions Level 1: the curve from (0,
    0) to (1, 1) with control points (x1, y1) and (x2, y2), x1 and x2 within [0, 1].
    """
    t = np.clip(np.asarray(t, dtype=np.float64), 0.0, 1.0)
    low, high = np.zeros_like(t), np.ones_like(t)
    for _ in range(60):  # x rises along the curve, so halving finds its parameter
        s = 0.5 * (low + high)
        early = _bezier(s, x1, x2) < t
        low, high = np.where(early, s, low), np.where(early, high, s)
    out = _bezier(0.5 * (low + high), y1, y2)
    # Both ends exactly: a landed piece must lie where it was laid.
    return np.where(t <= 0.0, 0.0, np.where(t >= 1.0, 1.0, out))


def eased(name: str, t: Floats) -> Floats:
    """Progress by one of EASES."""
    if name == "minimum-jerk":
        return minimum_jerk(t)
    if name == "linear":
        return np.clip(t, 0.0, 1.0)
    return cubic_bezier(t, *CSS_EASES[name])


def _bezier(s: Floats, a: float, b: float) -> Floats:
    out: Floats = 3 * (1 - s) ** 2 * s * a + 3 * (1 - s) * s**2 * b + s**3
    return out
