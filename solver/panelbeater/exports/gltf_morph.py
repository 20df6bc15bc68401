"""Bending as morph targets: a few bent shapes that a player mixes by weight."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely import GeometryCollection

from panelbeater.exports.bent import BentArt
from panelbeater.geometry.bending import bend_points
from panelbeater.geometry.overlay import shared
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.drawing import Shape

MOST_TARGETS = 8
"""Many players mix no more."""
SLICE = 0.12
"""Radians that a slice across the axis may turn; its triangles then cannot turn over."""


@dataclass(frozen=True, slots=True, eq=False)
class Bending:
    """One bending drawing and the shapes it is mixed from."""

    art: BentArt
    frames: list[int]
    """Frames in which the weights are keyed."""
    shares: Floats
    """(n_frames,), share of the bend."""
    targets: list[float]
    """Share of the bend of each target, rising."""

    @classmethod
    def keyed(cls, art: BentArt, shares: Floats, tolerance: float) -> Bending:
        """As few shapes, evenly apart, as mix within `tolerance` (drawing units) of every
        frame, eight at most.
        """
        wanted = np.concatenate(art.through(shares), axis=1)  # (n_frames, n_points, 2)
        last = float(shares.max())
        for n in range(1, MOST_TARGETS + 1):
            made = cls(
                art, _stirring(shares), shares, [last * k / n for k in range(1, n + 1)]
            )
            moves = np.stack([np.concatenate(art.through(k), axis=0) for k in made.targets])
            start = np.concatenate(art.through(0.0), axis=0)
            mixed = start + np.einsum("ft,tnx->fnx", made.weights(), moves - start)
            if np.linalg.norm(mixed - wanted, axis=-1).max(initial=0.0) <= tolerance:
                break
        return made

    def weights(self) -> Floats:
        """(n_frames, n_targets): between two shapes their weights add up to one."""
        knots = np.array([0.0, *self.targets])
        columns = [
            np.interp(self.shares, knots, np.eye(len(knots))[k])
            for k in range(1, len(knots))
        ]
        return np.stack(columns, axis=-1)

    def moves(self, points: Points) -> list[Points]:
        """Where each target moves (n, 2) corners of the drawing."""
        at = points - self.art.centre
        return [bend_points(self.art.bend, at, share) - at for share in self.targets]

    def sliced(self, area: Shape) -> GeometryCollection:
        """The area cut across the axis into slices that each turn by little."""
        bend, middle = self.art.bend, self.art.centre
        along = np.array([np.cos(bend.axis), np.sin(bend.axis)])
        way = (shapely.get_coordinates(area) - middle) @ along
        reach = float(np.abs(shapely.get_coordinates(area) - middle).max()) * 3
        n = max(1, int(np.ceil(np.ptp(way) * abs(bend.curvature) / SLICE)))
        edges = np.linspace(way.min(), way.max(), n + 1)
        across = np.array([-along[1], along[0]]) * reach
        edges[0], edges[-1] = edges[0] - reach, edges[-1] + reach
        slices = []
        for low, high in pairwise(edges):
            a, b = middle + low * along, middle + high * along
            band = shapely.Polygon([a - across, b - across, b + across, a + across])
            slices += [
                part
                for part in shapely.get_parts(shared(area, band))
                if isinstance(part, shapely.Polygon) and part.area > 0
            ]
        return GeometryCollection(slices)


def _stirring(shares: Floats) -> list[int]:
    """Frames beside any change, and both ends."""
    edges = np.flatnonzero(np.diff(shares))
    return sorted({0, *edges.tolist(), *(edges + 1).tolist(), len(shares) - 1})
