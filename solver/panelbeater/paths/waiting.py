"""What carries the pieces of the risen vehicle until they leave it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.affinity import translate

from panelbeater.kinematics.chain import Skeleton, bodies_on_stage
from panelbeater.terms.arrays import Points
from panelbeater.terms.drawing import Shape
from panelbeater.terms.pose import Action, Pose
from panelbeater.terms.timing import Waiting

TOUCH = 2e-4
"""Share of the frame's width within which two pieces touch and hang together."""
TOUCH_BODY = 1.8e-3
"""The same for a piece and a bare bone."""


def bodies_by_frame(skeleton: Skeleton, action: Action) -> tuple[tuple[Shape, ...], ...]:
    """(n_frames)(n_bones), the bare body on the stage."""
    pose = action.pose
    return tuple(
        bodies_on_stage(skeleton, Pose(root, turns, scales))
        for root, turns, scales in zip(pose.root, pose.turns, pose.scales, strict=True)
    )


def find_waiting(
    outlines: Sequence[Shape],
    lift: Points,
    bodies: Sequence[Sequence[Shape]],
    width: float,
) -> Waiting:
    """How long bones carry each piece of the lifted vehicle, and who touches whom in it."""
    n_frames, n_pieces = len(lift), len(outlines)
    shapes = np.array(outlines, dtype=object)
    near = shapely.dwithin(shapes[:, None], shapes[None, :], TOUCH * width)
    held = np.zeros((n_frames, n_pieces), dtype=np.bool_)
    for frame in range(n_frames):
        # The body is taken to the vehicle, which is one move instead of one a piece.
        there = [translate(body, *-lift[frame]) for body in bodies[frame]]
        tree = shapely.STRtree(there)
        found = tree.query(shapes, predicate="dwithin", distance=TOUCH_BODY * width)
        held[frame, found[0]] = True
    # Held again after a gap does not count: in the gap it would have hung in the air.
    risen = int(np.argmax(np.hypot(*(lift - lift[-1]).T) <= 1e-9 * width))
    let_go = np.argmin(held[risen:], axis=0) + risen
    last = np.where(held[risen:].all(axis=0), n_frames - 1, let_go - 1)
    last = np.where(held[risen], last, -1)
    pairs = [(int(i), int(j)) for i, j in np.argwhere(near) if i < j]
    return Waiting(tuple(int(frame) for frame in last), tuple(pairs))
