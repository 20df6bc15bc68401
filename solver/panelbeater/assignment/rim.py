"""How much area a laid outline wins or loses as it moves, to the last digit.

The slope of the area that a moving outline shares with one at rest is the sum, over the
stretches of the moving outline inside it, of how fast they move outwards (Reynolds'
transport theorem); along a straight edge that speed is linear, so its middle tells all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from panelbeater.geometry.frames import rigid
from panelbeater.terms.arrays import Floats, Points


@dataclass(frozen=True, slots=True, eq=False)
class Rim:
    """The edges of a laid outline, and how they move with its unknowns."""

    lines: np.ndarray
    """(n_edges,) straight lines."""
    normals: Points
    """(n_edges, 2), outwards, of length 1."""
    x: Floats
    """(5,): x, y, turn, ln scale, signed ln stretch."""
    axis: float
    """Radians, piece frame: what it is stretched along."""

    @staticmethod
    def of(shape: BaseGeometry, x: Floats, axis: float) -> Rim:
        """All rings, each running so that its outside is on one hand."""
        ends = []
        for part in shapely.get_parts(shape):
            for ring in (part.exterior, *part.interiors):
                xy = shapely.get_coordinates(ring)
                ends.append(np.stack([xy[:-1], xy[1:]], axis=1))
        pairs = np.concatenate(ends)  # (n_edges, 2, 2)
        along = pairs[:, 1] - pairs[:, 0]
        length = np.hypot(*along.T)
        pairs, along = pairs[length > 0], along[length > 0] / length[length > 0, None]
        normals = np.stack([along[:, 1], -along[:, 0]], axis=1)
        return Rim(shapely.linestrings(pairs), normals, x, axis)

    def flow(self, area: BaseGeometry | None) -> Floats:
        """(5,), area won per unit of every unknown by the stretches inside an area."""
        lines, normals = self.lines, self.normals
        if area is not None:
            shapely.prepare(area)
            within = shapely.covers(area, lines)
            across = ~within & shapely.intersects(area, lines)
            cut = shapely.intersection(lines[across], area)
            parts, owner = shapely.get_parts(cut, return_index=True)
            lines = np.concatenate([lines[within], parts])
            normals = np.concatenate([normals[within], normals[across][owner]])
        length = shapely.length(lines)
        lines, normals, length = lines[length > 0], normals[length > 0], length[length > 0]
        if not len(lines):
            return np.zeros(5)
        middle = shapely.get_coordinates(
            shapely.line_interpolate_point(lines, 0.5, normalized=True)
        )
        off = middle - self.x[:2]
        axis = rigid(np.zeros(2), np.array(self.x[2] + self.axis))[:2, :2].T
        along, across = np.broadcast_to(np.eye(2)[:, None], (2, *off.shape))
        turned = np.stack([-off[:, 1], off[:, 0]], axis=1)
        stretched = (off @ axis.T * [0.5, -0.5]) @ axis
        ways = np.stack([along, across, turned, off, stretched])  # (5, n, 2)
        out: Floats = (ways * normals).sum(axis=2) @ length
        return out
