"""Every frame and moments on the way to the next, as straight in-betweens make them."""

from __future__ import annotations

import numpy as np

from panelbeater.terms.arrays import Floats
from panelbeater.terms.pose import Pose


def with_between(values: Floats, parts: int, shares: Floats | None = None) -> Floats:
    """(parts (n_frames - 1) + 1, ...) from (n_frames, ...): frame k in row parts k, and
    parts - 1 moments at equal times after it.

    shares : (n_frames - 1, parts - 1, ...), how far things have come by then on the way to
        the next frame; as far as the time has if left out.
    """
    out = np.repeat(values, parts, axis=0)[: parts * (len(values) - 1) + 1]
    steps = np.diff(values, axis=0)
    for part in range(1, parts):
        share = part / parts if shares is None else shares[:, part - 1]
        out[part::parts] += steps * share
    return out


def pose_between(pose: Pose, parts: int) -> Pose:
    """The body at every frame and in between, joints in-betweened straight."""
    root, turns, scales = (
        with_between(values, parts) for values in (pose.root, pose.turns, pose.scales)
    )
    return Pose(root, turns, scales)
