"""Pieces and bones as flat coloured triangles, near marks a hair before far ones."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely

from panelbeater.exports.gltf_buffer import INDICES, INT, SHORT, VERTICES, Buffer
from panelbeater.exports.marks import Mark
from panelbeater.geometry.frames import apply
from panelbeater.svg.outlines import Fineness
from panelbeater.terms.arrays import Affines, Floats, Ints, Points
from panelbeater.terms.drawing import Shape

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


def triangles(shape: Shape) -> tuple[Points, Ints]:
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
) -> dict[str, Any] | None:
    """One mesh, y up, its marks spread over `thickness` towards the viewer.

    A gradient is painted in its mean colour. None when nothing has an area.
    """
    parts: dict[int, list[tuple[Points, Ints, Floats]]] = {}
    for k, mark in enumerate(marks):
        corners, faces = triangles(mark.area(fineness))
        if not len(faces):
            continue
        placed = apply(own_from_drawing, corners) * [1.0, -1.0]
        level = np.full((len(placed), 1), thickness * k / len(marks))
        parts.setdefault(SOLID if mark.alpha >= 1 else CLEAR, []).append(
            (np.hstack([placed, level]), _facing(placed, faces),
             np.tile(linear_colour(mark.colour, mark.alpha), (len(placed), 1)))
        )  # fmt: skip
    if not parts:
        return None
    return {
        "name": name,
        "primitives": [_primitive(m, parts[m], buffer) for m in sorted(parts)],
    }


def _facing(corners: Points, faces: Ints) -> Ints:
    """Every triangle turned towards the viewer."""
    a, b, c = (corners[faces[:, k]] for k in range(3))
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1])
    area = area - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    return np.where(area[:, None] > 0, faces, faces[:, ::-1])


def _primitive(
    material: int, parts: list[tuple[Points, Ints, Floats]], buffer: Buffer
) -> dict[str, Any]:
    before = np.cumsum([0, *(len(points) for points, _, _ in parts[:-1])])
    faces = [faces + start for start, (_, faces, _) in zip(before, parts, strict=True)]
    colours = np.concatenate([colour for _, _, colour in parts])
    return {
        "attributes": {
            "POSITION": buffer.add(
                np.concatenate([points for points, _, _ in parts]),
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
