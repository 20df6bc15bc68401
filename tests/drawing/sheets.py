"""Small drawings for tests: write a body as an SVG file, and redraw pieces as one."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import shapely

from panelbeater.svg import SvgDrawing, read_svg
from panelbeater.svg.check import page_pixels, render_file, rendered, silhouette_match
from panelbeater.terms.arrays import Floats

NAMESPACES = (
    'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"'
)
CASES = sorted((Path(__file__).parents[3] / "shared" / "cases").glob("*.svg"))


def sheet(folder: Path, body: str, *, root: str = 'viewBox="0 0 100 100"') -> Path:
    """Write `body` into an SVG file called lorry.svg."""
    path = folder / "lorry.svg"
    path.write_text(f"<svg {NAMESPACES} {root}>{body}</svg>", encoding="utf-8")
    return path


def match(path: Path) -> float:
    """IoU of our shapes with what resvg paints for the file."""
    drawing = read_svg(path)
    shown = [shape.outline for shape in drawing.shapes if not shape.hidden]
    whole = shapely.union_all(shown)
    assert isinstance(whole, shapely.Polygon | shapely.MultiPolygon)
    return silhouette_match(path, whole, drawing.view_box)


def picture(artworks: Sequence[str], defs: str, drawing: SvgDrawing) -> Floats:
    """Paint artwork over the view box of `drawing`."""
    width, height = page_pixels(drawing.view_box)
    box = " ".join(str(value) for value in drawing.view_box)
    return rendered(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="{box}" preserveAspectRatio="none">'
        f"<defs>{defs}</defs>{''.join(artworks)}</svg>"
    )


def unlike(path: Path, artworks: Sequence[str], defs: str) -> float:
    """Share of pixels that differ by more than a tenth from the file as resvg paints it."""
    drawing = read_svg(path)
    original = render_file(path, drawing.view_box)
    redrawn = picture(artworks, defs, drawing)
    return float(np.mean(np.abs(original - redrawn).max(axis=-1) > 0.1))
