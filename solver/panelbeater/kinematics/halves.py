"""Every frame and the moment half-way to the next, as straight in-betweens make it."""

from __future__ import annotations

import numpy as np

from panelbeater.terms.arrays import Floats
from panelbeater.terms.pose import Pose


def with_halves(values: Floats, shares: Floats | None = None) -> Floats:
    """(2 n_frames - 1, ...) from (n_frames, ...): frame k in row 2 k, half-ways between.

    shares : (n_frames - 1, ...), how far things have come by then; half of the way if left
        out.
    """
    out = np.repeat(values, 2, axis=0)[:-1]
    out[1::2] += np.diff(values, axis=0) * (0.5 if shares is None else shares)
    return out


def pose_with_halves(pose: Pose) -> Pose:
    """The body at every frame and half-way between, joints in-betweened straight."""
    return Pose(*map(with_halves, (pose.root, pose.turns, pose.scales)))
