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
