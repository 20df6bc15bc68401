"""Read a figure drawing: what is silhouette, what a drawn bone, what a named region."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely

from panelbeater.errors import DrawingError
from panelbeater.figure.fitting import fit_figure
from panelbeater.figure.names import innermost_bone, is_shadow_name
from panelbeater.figure.shadow import is_backdrop, is_cast_shadow
from panelbeater.figure.sheet import as_shape
from panelbeater.svg import SvgDrawing, SvgShape, read_svg
from panelbeater.terms.arrays import Points
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import BONE_IDS, Figure

_WIDEST = 3.0
"""Width over height beyond which no figure stands upright."""
_FAINTEST = 0.02
"""Opacity up to which a shape is not seen."""
_THINNEST = 0.01
"""Area over height squared below which nothing can be cut out; a stick figure has .03."""


@dataclass(frozen=True, slots=True, eq=False)
class _Sorted:
    """The shapes of a figure drawing by what they are for."""

    painted: tuple[SvgShape, ...]
    bones: dict[str, Points]
    warnings: tuple[str, ...]


def read_figure(path: Path) -> Figure:
    """Read a standing figure that faces us and fit its fifteen bones.

    Lines in a group `bones`, hidden or not, are taken as bones by their ids; shapes and
    groups named like regions become those regions; everything else is fitted. Lengths are
    user units of the file, y down. Raises DrawingError, one line, when the file cannot be
    read or shows no standing figure.
    """
    drawing = read_svg(path)
    found = _sort(drawing)
    if not found.painted:
        raise DrawingError(
            f"{path.name}: no filled shape to take as the figure; "
            "fill the silhouette or convert strokes and text to outlines"
        )
    silhouette = as_shape(shapely.union_all([s.outline for s in found.painted]))
    _check_standing(silhouette, path.name)
    return fit_figure(
        silhouette,
        bones=found.bones,
        named=_regions(found.painted),
        source=drawing.source,
        warnings=(*drawing.warnings, *found.warnings),
    )


def _sort(drawing: SvgDrawing) -> _Sorted:
    """Take bones, shadows and backdrops out of the paint order."""
    bones: dict[str, Points] = {}
    painted: list[SvgShape] = []
    for shape in drawing.shapes:
        bone = _as_bone(shape)
        if bone is not None:
            name, ends = bone
            bones.setdefault(name, ends)
        elif _is_painted(shape):
            painted.append(shape)
    warnings: list[str] = []
    left: list[SvgShape] = []
    for k, shape in enumerate(painted):
        others = [s.outline for s in [*left, *painted[k + 1 :]]]
        beneath = not left
        if is_shadow_name(shape.labels) and others:
            continue
        if beneath and others and is_backdrop(shape, drawing.view_box, others):
            warnings.append(f"{drawing.source}: the backdrop is not part of the figure")
            continue
        if beneath and others and is_cast_shadow(shape, others):
            warnings.append(
                f"{drawing.source}: a flat shape under the feet is taken as shadow"
            )
            continue
        left.append(shape)
    return _Sorted(tuple(left), bones, tuple(warnings))


def _is_painted(shape: SvgShape) -> bool:
    hidden = shape.hidden or shape.outline.is_empty or shape.opacity <= _FAINTEST
    return not (hidden or _in_bones(shape))


def _in_bones(shape: SvgShape) -> bool:
    return any(label.lower() in ("bones", "skeleton", "rig") for label in shape.labels)


def _as_bone(shape: SvgShape) -> tuple[str, Points] | None:
    """Bone id and (2, 2) ends of an open line named like a bone.

    Outside a group of bones a line must call itself one: limbs have pen lines of their own.
    """
    own = [*shape.labels[-1:], *([shape.id] if shape.id else [])]
    called = any("bone" in label.lower() for label in own)
    name = innermost_bone(own) if called or _in_bones(shape) else None
    if name is None or not shape.lines or not shape.fill_outline.is_empty:
        return None
    line = np.asarray(shape.lines[0], dtype=np.float64)
    ends = line[[0, -1]]
    if not float(np.hypot(*(ends[1] - ends[0]))) > 0:
        return None
    return name, ends


def _regions(painted: tuple[SvgShape, ...]) -> dict[str, Shape]:
    """Visible part of every named region: its shapes less named shapes above them."""
    above: Shape = as_shape(shapely.MultiPolygon())
    parts: dict[str, list[Shape]] = {}
    for shape in reversed(painted):
        name = innermost_bone(shape.labels) or (shape.id and innermost_bone([shape.id]))
        if not name:
            continue
        seen = as_shape(shape.outline.difference(above))
        above = as_shape(above.union(shape.outline))
        if not seen.is_empty:
            parts.setdefault(name, []).append(seen)
    return {n: as_shape(shapely.union_all(parts[n])) for n in BONE_IDS if n in parts}


def _check_standing(silhouette: Shape, source: str) -> None:
    if silhouette.is_empty or silhouette.area <= 0:
        raise DrawingError(f"{source}: the figure has no area; fill its shapes")
    x0, y0, x1, y1 = silhouette.bounds
    width, height = x1 - x0, y1 - y0
    if width > _WIDEST * height:
        raise DrawingError(
            f"{source}: the figure is {width:.4g} wide and {height:.4g} high; "
            "a standing figure that faces us is needed"
        )
    if silhouette.area < _THINNEST * height**2:
        raise DrawingError(
            f"{source}: the figure is too thin to cut out (area {silhouette.area:.3g} at "
            f"height {height:.4g}); draw it as filled shapes"
        )
