"""Sparse keys for bending: few shapes that a player joins by straight lines."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from panelbeater.exports.bent import BentArt
from panelbeater.exports.channels import sparse_points
from panelbeater.exports.compose import Painted
from panelbeater.terms.arrays import Floats
from panelbeater.terms.rig import Rig, Sample


@dataclass(frozen=True, slots=True, eq=False)
class BendingKeys:
    """One drawing that bends, and the frames in which its shape is keyed."""

    name: str
    """As `Drawn.name`."""
    art: BentArt
    keys: list[int]
    all_shares: list[float]
    """Share of the bend at every frame."""

    @property
    def shares(self) -> list[float]:
        """Share of the bend at every key."""
        return [self.all_shares[key] for key in self.keys]


def bending_keys(
    rig: Rig, sample: Sample, painted: Painted, tolerance: float
) -> list[BendingKeys]:
    """One a bending drawing; no corner strays farther than `tolerance`, drawing units.

    `sample` holds one moment per frame.
    """
    found = []
    for i in range(len(rig.tracks)):
        for drawn in (painted.looks.first[i], painted.looks.worn[i]):
            if drawn is not None and drawn.bent is not None:
                shares: Floats = sample.bent[:, i]
                keys = key_shapes(drawn.bent, shares, tolerance)
                found.append(BendingKeys(drawn.name, drawn.bent, keys, shares.tolist()))
    return found


def key_shapes(art: BentArt, shares: Floats, tolerance: float) -> list[int]:
    """Frames to key a bending drawing at; `shares` is (n_frames,)."""
    through = np.concatenate(art.through(shares), axis=1)  # (n_frames, n_points, 2)
    return sparse_points(through, tolerance)
