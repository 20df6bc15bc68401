"""Figures cut along their regions and shuffled: layouts whose best answer is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon, affinity

from panelbeater.geometry.frames import map_shape, moved
from panelbeater.kinematics.chain import skeleton_of
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Allowance, Drawing, Shape
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Fold
from tests.vehicles import drawing, piece

RIGID = Allowance(scale_min=1.0, scale_max=1.0, stretch_max=1.0)

TANGRAM_SQUARE = tuple(
    affinity.scale(Polygon(corners), 10, 10, origin=(0, 0))
    for corners in (
        [(0, 0), (8, 0), (4, 4)],
        [(0, 0), (4, 4), (0, 8)],
        [(8, 0), (8, 4), (6, 2)],
        [(4, 4), (6, 2), (8, 4), (6, 6)],
        [(4, 4), (6, 6), (2, 6)],
        [(0, 8), (2, 6), (6, 6), (4, 8)],
        [(8, 4), (8, 8), (4, 8)],
    )
)
"""The seven tans laid as the square, one of the 13 convex figures (Wang & Hsiung 1942)."""


def shuffled(shapes: Sequence[Shape], seed: int = 7) -> Drawing:
    """The shapes as a vehicle: each turned by a known angle and set apart."""
    rng = np.random.default_rng(seed)
    pieces = []
    for i, shape in enumerate(shapes):
        centre = shape.centroid
        turned = affinity.rotate(shape, rng.uniform(-180, 180), origin=centre)
        spot = (40 * (i % 5), 40 * (i // 5))
        away = affinity.translate(turned, spot[0] - centre.x, spot[1] - centre.y)
        pieces.append(replace(piece(f"cut_{i:02d}", away, i), allowance=RIGID))
    return drawing(*pieces)


def standing_fold(figure: Figure) -> Fold:
    """No fold at all: only the layout is on trial."""
    return Fold(skeleton_of(figure).rest, 0.0, 1.0, 1.0)


def laid_outlines(vehicle: Drawing, layout: Assignment) -> list[Shape]:
    """Where each piece lies in the end."""
    out = []
    for drawn, cover in zip(vehicle.pieces, layout.covers, strict=True):
        centre = drawn.outline.centroid
        out.append(
            map_shape(cover.stage_from_piece @ moved(-centre.x, -centre.y), drawn.outline)
        )
    return out


def own_region_coverage(
    figure: Figure, vehicle: Drawing, layout: Assignment, n_regions: int = 15
) -> float:
    """Share of the first regions' area under pieces that are assigned to them."""
    outlines = laid_outlines(vehicle, layout)
    covered = total = 0.0
    for bone in figure.bones[:n_regions]:
        mine = [outline for outline, cover in zip(outlines, layout.covers, strict=True)
                if cover.region == bone.id]  # fmt: skip
        covered += shapely.union_all(mine).intersection(bone.region).area
        total += bone.region.area
    return covered / total
