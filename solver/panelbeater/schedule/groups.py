"""Pieces of one limb that go the same way, and so leave together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from panelbeater.schedule.options import ScheduleOptions
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.figure import BONE_TREE, CONTROLLERS, Controller
from panelbeater.terms.timing import ShotOptions


@dataclass(frozen=True, slots=True)
class Group:
    """Pieces that leave and land together."""

    limb: Controller
    pieces: tuple[int, ...]
    n_frames: int
    """Length of their move."""


def find_groups(
    bones: Sequence[int], travel: Points, shot: ShotOptions, options: ScheduleOptions
) -> tuple[Group, ...]:
    """Limb by limb, the pieces in groups of like velocity.

    travel : (n_pieces, 2), in figure heights.
    """
    far = np.hypot(travel[:, 0], travel[:, 1])
    lengths = _lengths(far, shot, options)
    out = []
    for limb in CONTROLLERS:
        mine = np.array([i for i, b in enumerate(bones) if BONE_TREE[b][2] == limb], int)
        if not len(mine):
            continue
        velocity = travel[mine] / lengths[mine, None]
        apart = velocity[:, None] - velocity[None]  # (n, n, 2)
        largest = np.hypot(velocity[:, 0], velocity[:, 1]).max()
        like = np.hypot(apart[..., 0], apart[..., 1]) <= options.spread * largest
        count, label = connected_components(csr_array(like.astype(np.int8)))
        for k in range(count):
            pieces = mine[label == k]
            out.append(
                Group(limb, tuple(pieces.tolist()), round(float(lengths[pieces].max())))
            )
    return tuple(out)


def _lengths(far: Floats, shot: ShotOptions, options: ScheduleOptions) -> Floats:
    """(n_pieces,) length of each move, whole frames."""
    room = max(1, shot.moving.stop - shot.moving.start)
    longest = max(1.0, min(options.longest_frames, round(0.75 * room)))
    wished = np.maximum(options.shortest_frames, options.frames_per_height * far)
    out: Floats = np.round(np.clip(wished, 1.0, longest))
    return out
