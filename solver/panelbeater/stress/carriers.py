"""Pieces dropped one at a time: which of them carries the reading?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from panelbeater.animation import ShotPlan
from panelbeater.exports import label_frames, piece_masks
from panelbeater.stress.recognition import Mask, read_silhouette

WIDTH_PX = 110
CHANGED = 0.008
"""Share of the silhouette a dropped piece must change before it is worth reading anew."""


@dataclass(frozen=True, slots=True)
class Carrier:
    """What is lost without one piece, at the first and at the last frame."""

    piece: str
    first: float
    """Lean to the vehicle lost without it, 0 to about 1; negative: it stood in the way."""
    last: float
    """Lean to the person lost without it."""
    seen_first: float
    """Share of the picture's painted area that shows this piece."""
    seen_last: float
    turns: bool
    """True when the nearest class changes sort at either end without it."""

    @property
    def weight(self) -> float:
        """The larger of the two losses."""
        return max(self.first, self.last)


def find_carriers(plan: ShotPlan) -> tuple[Carrier, ...]:
    """All pieces, those that carry most first. The bare body stays in the picture."""
    last = plan.rig.shot.n_frames - 1
    labels = label_frames(plan.rig, plan.sample, WIDTH_PX, rows=[0, last])
    n_pieces = len(plan.rig.drawing.pieces)
    ends = [_losses(plan, row) for row in (0, last)]
    seen = [np.bincount(frame.ravel(), minlength=n_pieces + 2)[2:] for frame in labels]
    painted = [max(int((frame > 0).sum()), 1) for frame in labels]
    found = [
        Carrier(
            piece.id,
            ends[0][i][0],
            -ends[1][i][0],
            float(seen[0][i]) / painted[0],
            float(seen[1][i]) / painted[1],
            ends[0][i][1] or ends[1][i][1],
        )
        for i, piece in enumerate(plan.rig.drawing.pieces)
    ]
    return tuple(sorted(found, key=lambda c: (-c.weight, -c.seen_last, c.piece)))


def _losses(plan: ShotPlan, row: int) -> list[tuple[float, bool]]:
    """Per piece: lean lost without it, and whether vehicle, person or neither changes."""
    masks = piece_masks(plan.rig, plan.sample, WIDTH_PX, row)
    layers = masks.sum(axis=0)
    whole = layers > 0
    lean, sort = _reading(whole)
    out = []
    for mask in masks[:-1]:
        rest = layers - mask > 0
        if (whole & ~rest).sum() < CHANGED * whole.sum():
            out.append((0.0, False))
            continue
        without, other = _reading(rest)
        out.append((lean - without, other != sort))
    return out


def _reading(mask: Mask) -> tuple[float, tuple[bool, ...]]:
    readings = read_silhouette(mask).values()
    sort = tuple(flag for r in readings for flag in (r.as_vehicle, r.as_person))
    return float(np.mean([r.lean for r in readings])), sort
