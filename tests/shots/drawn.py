"""The yard tractor and the capsule figure as files an editor could have written."""

from __future__ import annotations

from pathlib import Path

import shapely
from shapely import Polygon

from tests.figures import capsule_figure
from tests.vehicles import yard_tractor

COLOURS = ("#c8553d", "#e0a458", "#588157", "#3d5a80", "#9a8c98")


def tractor_svg(*, dx: float = 0.0, dy: float = 0.0) -> str:
    """Each piece a named group; the page and all on it may lie elsewhere."""
    groups = []
    for piece in yard_tractor().pieces:
        fill = COLOURS[piece.depth % len(COLOURS)]
        x0, y0, x1, y1 = piece.outline.bounds
        if piece.kind == "wheel":
            shape = (
                f'<circle cx="{(x0 + x1) / 2}" cy="{(y0 + y1) / 2}" r="12" fill="#333333"/>'
            )
        else:
            size = f'width="{x1 - x0}" height="{y1 - y0}"'
            shape = f'<rect x="{x0}" y="{y0}" {size} fill="{fill}"/>'
        groups.append(f'<g id="{piece.id}">{shape}</g>')
    move = f' transform="translate({dx!r} {dy!r})"' if dx or dy else ""
    return _sheet(f"<g{move}>{''.join(groups)}</g>", dx, dy)


def figure_svg() -> str:
    """The silhouette alone, as one path."""
    silhouette = capsule_figure(100, x=50, ground=110).silhouette
    parts = [silhouette] if isinstance(silhouette, Polygon) else list(silhouette.geoms)
    rings = [ring for part in parts for ring in (part.exterior, *part.interiors)]
    path = " ".join(
        "M"
        + " ".join(f"{x:.4f},{y:.4f}" for x, y in shapely.get_coordinates(ring)[:-1])
        + "Z"
        for ring in rings
    )
    return _sheet(f'<path d="{path}" fill="#222222" fill-rule="evenodd"/>')


def write_drawings(folder: Path) -> tuple[Path, Path]:
    """tractor.svg and figure.svg in a folder."""
    vehicle, figure = folder / "tractor.svg", folder / "figure.svg"
    vehicle.write_text(tractor_svg(), encoding="utf-8")
    figure.write_text(figure_svg(), encoding="utf-8")
    return vehicle, figure


def _sheet(content: str, dx: float = 0.0, dy: float = 0.0) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{dx - 10} {dy - 10} 140 140" '
        f'width="140" height="140">{content}</svg>\n'
    )
