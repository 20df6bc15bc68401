"""Pieces and bones as flat coloured triangles, near marks a hair before far ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from panelbeater.exports.gltf_buffer import INDICES, INT, SHORT, VERTICES, Buffer
from panelbeater.exports.gltf_morph import Bending
from panelbeater.exports.marks import Mark
from panelbeater.geometry.frames import apply
from panelbeater.svg.outlines import Fineness
from panelbeater.terms.arrays import Affines, Floats, Ints, Points

SOLID, CLEAR = 0, 1
"""Numbers of the two materials."""
MATERIALS: list[dict[str, Any]] = [
    {
        "name": name,
        "doubleSided": True,
        "extensions": {"KHR_materials_unlit": {}},
        "pbrMetallicRoughness": {"metallicFactor": 0},
        **mode,
    }
    for name, mode in (("solid", {}), ("clear", {"alphaMode": "BLEND"}))
]
"""Colours come from the vertices, and no lamp changes them."""


def triangles(shape: BaseGeometry) -> tuple[Points, Ints]:
    """Corners (n, 2) and triangles (m, 3) of polygons, by constrained Delaunay."""
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    if not len(parts):
        return np.zeros((0, 2)), np.zeros((0, 3), dtype=np.int64)
    rings = shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]  # (m, 3, 2)
    corners, where = np.unique(rings.reshape(-1, 2), axis=0, return_inverse=True)
    return corners, where.reshape(-1, 3)


def linear_colour(colour: str, alpha: float) -> Floats:
    """(4,), linear red, green, blue and opacity, 0 to 1 (IEC 61966-2-1)."""
    bytes_ = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255
    light = np.where(bytes_ <= 0.04045, bytes_ / 12.92, ((bytes_ + 0.055) / 1.055) ** 2.4)
    return np.append(light, alpha)


def mesh(
    name: str,
    marks: Sequence[Mark],
    own_from_drawing: Affines,
    buffer: Buffer,
    *,
    thickness: float,
    fineness: Fineness,
    bending: Bending | None = None,
) -> dict[str, Any] | None:
    """One mesh, y up, its marks spread over `thickness` towards the viewer; what bends has
    a target for each of its shapes.

    A gradient is painted in its mean colour. None when nothing has an area.
    """
    parts: dict[int, list[_Part]] = {}
    for k, mark in enumerate(marks):
        area = mark.area(fineness)
        corners, faces = triangles(bending.sliced(area) if bending else area)
        if not len(faces):
            continue
        moves = bending.moves(corners) if bending else []
        placed = apply(own_from_drawing, corners) * [1.0, -1.0]
        level = np.full((len(placed), 1), thickness * k / len(marks))
        parts.setdefault(SOLID if mark.alpha >= 1 else CLEAR, []).append(
            _Part(
                np.hstack([placed, level]),
                _facing(placed, faces),
                np.tile(linear_colour(mark.colour, mark.alpha), (len(placed), 1)),
                [_turned_up(own_from_drawing, move) for move in moves],
            )
        )
    if not parts:
        return None
    return {
        "name": name,
        **({"weights": [0.0] * len(bending.targets)} if bending else {}),
        "primitives": [_primitive(m, parts[m], buffer) for m in sorted(parts)],
    }


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """One mark: corners (n, 3), faces (m, 3), colours (n, 4), moves of each target."""

    points: Points
    faces: Ints
    colours: Floats
    moves: list[Points]


def _turned_up(own_from_drawing: Affines, move: Points) -> Points:
    """A move of the drawing's plane as (n, 3), y up."""
    own = move @ own_from_drawing[:2, :2].T * [1.0, -1.0]
    return np.hstack([own, np.zeros((len(own), 1))])


def _facing(corners: Points, faces: Ints) -> Ints:
    """Every triangle turned towards the viewer."""
    a, b, c = (corners[faces[:, k]] for k in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1])
    area = area - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    return np.where(area[:, None] > 0, faces, faces[:, ::-1])


def _primitive(material: int, parts: list[_Part], buffer: Buffer) -> dict[str, Any]:
    before = np.cumsum([0, *(len(part.points) for part in parts[:-1])])
    faces = [part.faces + start for start, part in zip(before, parts, strict=True)]
    colours = np.concatenate([part.colours for part in parts])
    targets = [
        {"POSITION": buffer.add(np.concatenate(moves), target=VERTICES, with_bounds=True)}
        for moves in zip(*(part.moves for part in parts), strict=True)
    ]
    return {
        **({"targets": targets} if targets else {}),
        "attributes": {
            "POSITION": buffer.add(
                np.concatenate([part.points for part in parts]),
                target=VERTICES,
                with_bounds=True,
            ),
            # Sixteen bits: dark colours would band in eight bits of linear light.
            "COLOR_0": buffer.add(
                np.rint(colours * 65535), SHORT, target=VERTICES, is_share=True
            ),
        },
        "indices": buffer.add(np.concatenate(faces).ravel(), INT, target=INDICES),
        "material": material,
    }
