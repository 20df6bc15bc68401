"""How far each joint may turn away from the standing pose."""

from __future__ import annotations

import numpy as np

from panelbeater.terms.arrays import Floats
from panelbeater.terms.figure import BONE_IDS, without_side

# Degrees either side of the standing pose. A cut-out puppet seen from the front may bend a
# knee or an elbow to either side: common practice with no source.
_LIMITS_DEG = {
    "waist": 110, "torso": 60, "head": 100, "upper_arm": 170, "forearm": 155, "hand": 85,
    "thigh": 130, "shank": 155, "foot": 80,
}  # fmt: skip


def turn_limits() -> Floats:
    """(n_bones,), radians either side of the standing pose."""
    return np.array([np.deg2rad(_LIMITS_DEG[without_side(b)])
                     for b in BONE_IDS])  # fmt: skip
