"""Everything that moves in the shot, each in a frame of its own that players can key."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from panelbeater.exports.compose import corners
from panelbeater.exports.looks import all_shapes
from panelbeater.geometry.frames import apply
from panelbeater.geometry.stage import (
    bone_from_standing,
    bone_transforms,
    piece_from_drawing,
    piece_transforms,
)
from panelbeater.terms.arrays import Affines, Points
from panelbeater.terms.rig import Rig, Sample

STRAY = 2.5e-4
"""Farthest a sparse key may put any corner from its place, as a share of the stage."""


@dataclass(frozen=True, slots=True, eq=False)
class Actor:
    """One moving thing: keys act on its own frame, `inner` brings the drawing into it."""

    name: str
    """Short and unique: p0 for the first piece, b0 for the first bone."""
    carrier: Affines
    """(n_frames, 3, 3), stage_from_own."""
    inner: Affines
    """(3, 3), own_from_drawing."""
    edge: Points
    """(n, 2), corners in its own frame."""

    def stray(self) -> float:
        """Farthest way between any two places of any corner; 0 for what never moves."""
        placed = apply(self.carrier, self.edge)  # (n_frames, n, 2)
        return float(np.ptp(placed, axis=0).max())


def piece_actors(rig: Rig, sample: Sample) -> list[Actor]:
    """One a piece, in drawing order; own frames have the drawn centroid at 0, 0."""
    inner = piece_from_drawing(rig.drawing.pieces)
    # Through piece_transforms and back, so that frame 0 is the same identity everywhere.
    carrier = piece_transforms(rig, sample) @ np.linalg.inv(inner)[None]
    edges = [
        corners(shapely.GeometryCollection(all_shapes(rig, i))) for i in range(len(inner))
    ]
    return [
        Actor(f"p{i}", carrier[:, i], inner[i], apply(inner[i], edges[i]))
        for i in range(len(inner))
    ]


def bone_actors(rig: Rig, sample: Sample) -> list[Actor]:
    """One a bone, in figure order; own frames have the joint at 0, 0 and x along it."""
    inner = bone_from_standing(rig.figure.bones)
    carrier = bone_transforms(rig, sample) @ np.linalg.inv(inner)[None]
    return [
        Actor(f"b{i}", carrier[:, i], inner[i], apply(inner[i], corners(bone.body)))
        for i, bone in enumerate(rig.figure.bones)
    ]
