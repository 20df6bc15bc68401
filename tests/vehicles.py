"""Plain vehicles for tests, built from boxes and discs."""

from __future__ import annotations

from typing import cast

import shapely
from shapely import Point, box

from panelbeater.terms.drawing import Drawing, Kind, Piece, Shape


def piece(
    id: str, outline: Shape, depth: int, kind: Kind = "panel", **more: object
) -> Piece:
    """A flat piece with its outline as artwork."""
    ring = " ".join(f"{x:.6f},{y:.6f}" for x, y in shapely.get_coordinates(outline))
    return Piece(id, kind, outline, depth, f'<polygon points="{ring}"/>', **more)  # type: ignore[arg-type]


def drawing(*pieces: Piece) -> Drawing:
    """Pieces in stacking order with their silhouette."""
    return Drawing(pieces, cast(Shape, shapely.union_all([p.outline for p in pieces])))


def yard_tractor() -> Drawing:
    """Sixteen boxes and two wheels, 100 wide, standing on y = 100."""
    parts: list[Piece] = []
    for row in range(3):
        for column in range(5):
            name = f"plate_{row}{column}"
            x, y = column * 20, 42 + row * 16
            parts.append(piece(name, box(x, y, x + 20, y + 16), len(parts)))
    parts.append(piece("cab", box(40, 10, 66, 42), len(parts)))
    parts.append(piece("roof", box(66, 14, 88, 42), len(parts)))
    wheels = [("wheel_rear", 20, "wheel_front"), ("wheel_front", 80, "wheel_rear")]
    for name, x, other in wheels:
        disc = Point(x, 88).buffer(12, quad_segs=8)
        parts.append(piece(name, disc, len(parts), "wheel", signature=True, mirror=other))
    return drawing(*parts)
