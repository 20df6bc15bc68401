"""Clip paths: the area they leave, and the definition that travels with the artwork."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from panelbeater.svg.numbers import affine
from panelbeater.svg.outlines import EMPTY, Fineness, filled, rings_of, settled, united
from panelbeater.svg.paths import Subpath, written
from panelbeater.terms.arrays import Affines, Points
from panelbeater.terms.drawing import Shape


@dataclass(frozen=True, slots=True, eq=False)
class ClipPart:
    """One shape inside a clip path."""

    subpaths: tuple[Subpath, ...]
    matrix: Affines
    """(3, 3), root units from the part's own."""
    rule: str
    inner: Clip | None


@dataclass(frozen=True, slots=True, eq=False)
class Clip:
    """One clip path as it applies in one place; in root units."""

    id: str
    parts: tuple[ClipPart, ...]
    outer: Clip | None

    def markup(self) -> str:
        """The <clipPath> element, in root user units."""
        paths = []
        for part in self.parts:
            inner = f' clip-path="url(#{part.inner.id})"' if part.inner else ""
            paths.append(
                f'<path d="{written(list(part.subpaths))}"{matrix_markup(part.matrix)}'
                f' clip-rule="{part.rule}"{inner}/>'
            )
        outer = f' clip-path="url(#{self.outer.id})"' if self.outer else ""
        return f'<clipPath id="{self.id}"{outer}>{"".join(paths)}</clipPath>'

    def area(self, fineness: Fineness, known: dict[str, Shape]) -> Shape:
        """What it leaves visible; `known` keeps areas already worked out, by clip id."""
        if self.id not in known:
            shapes = []
            for part in self.parts:
                rings = rings_of(list(part.subpaths), part.matrix, fineness.tolerance)
                shape = filled(rings, part.rule, fineness.grid)
                if part.inner is not None:
                    shape = clipped(shape, part.inner.area(fineness, known), fineness)
                shapes.append(shape)
            area = united(shapes, fineness.grid) if shapes else EMPTY
            if self.outer is not None:
                area = clipped(area, self.outer.area(fineness, known), fineness)
            known[self.id] = area
        return known[self.id]


def clipped(shape: Shape, area: Shape, fineness: Fineness) -> Shape:
    """The part of `shape` inside `area`, on the grid."""
    return settled(
        shapely.intersection(shape, area, grid_size=fineness.grid), fineness.grid
    )


def matrix_markup(matrix: Affines) -> str:
    """A transform attribute, with a space before it; empty for the identity."""
    if np.array_equal(matrix, np.eye(3)):
        return ""
    words = " ".join(f"{value:.10g}" for value in matrix[:2].T.ravel())
    return f' transform="matrix({words})"'


def unit_box(points: Points) -> Affines:
    """The (3, 3) matrix from the unit square to the box round (n, 2) points."""
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return affine(x1 - x0, 0, 0, y1 - y0, x0, y0)
