"""Artwork that bends with its piece: marks of straight lines, fine enough to follow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from panelbeater.exports.marks import Gradient, Mark, polygon_strokes
from panelbeater.geometry.bending import FINE, bend_points
from panelbeater.svg.outlines import Fineness, StrokeStyle
from panelbeater.svg.paths import polyline
from panelbeater.terms.arrays import Affines, Floats, Points
from panelbeater.terms.bend import Bend
from panelbeater.terms.drawing import Shape


@dataclass(frozen=True, slots=True, eq=False)
class BentArt:
    """One drawing of a piece that bends; every share of the bend has the same corners."""

    bend: Bend
    centre: Points
    """(2,), drawn centroid, drawing coordinates."""
    marks: tuple[Mark, ...]
    """As drawn; every stroke is a row of straight lines."""
    points: tuple[Points, ...]
    """Corners of each mark, (n, 2), all its strokes one after another."""

    def at(self, share: float) -> tuple[Mark, ...]:
        """The marks at one share of the bend."""
        return tuple(
            with_points(mark, points)
            for mark, points in zip(self.marks, self.through(share), strict=True)
        )

    def through(self, shares: Floats | float) -> list[Points]:
        """Corners of each mark at (...,) shares; (..., n, 2), drawing coordinates."""
        return [
            bend_points(self.bend, points - self.centre, shares) + self.centre
            for points in self.points
        ]


def bent_art(
    marks: Sequence[Mark], bend: Bend, centre: Points, fineness: Fineness
) -> BentArt:
    """Marks flattened and given corners close enough to bend."""
    fine = tuple(_fine(mark, bend, fineness) for mark in marks)
    points = tuple(
        np.concatenate([sub.control() for sub in mark.strokes] or [np.zeros((0, 2))])
        for mark in fine
    )
    return BentArt(bend, centre, fine, points)


def with_points(mark: Mark, points: Points) -> Mark:
    """The same strokes through other (n, 2) corners."""
    strokes, at = [], 0
    for sub in mark.strokes:
        n = 1 + len(sub.parts)
        strokes.append(polyline(points[at : at + n], closed=sub.closed))
        at += n
    return replace(mark, strokes=tuple(strokes))


def seam_mark(outline: Shape, wide: float) -> Mark:
    """The faint panel gap round a piece that the tool had to cut."""
    pen = StrokeStyle(width=wide, join="round")
    return Mark(polygon_strokes(outline), "#000000", 0.3, pen=pen)


def _fine(mark: Mark, bend: Bend, fineness: Fineness) -> Mark:
    strokes = []
    for sub in mark.strokes:
        points = sub.flat(fineness.tolerance)
        if sub.closed and len(points) > 1 and np.allclose(points[0], points[-1]):
            points = points[:-1]
        strokes.append(polyline(_finer(points, bend, closed=sub.closed), closed=sub.closed))
    return replace(mark, strokes=tuple(strokes))


def _finer(points: Points, bend: Bend, *, closed: bool) -> Points:
    """More corners on (n, 2) straight lines, so that each turns by little."""
    ends = np.concatenate([points[1:], points[:1]]) if closed else points[1:]
    starts = points[: len(ends)]
    turns = np.linalg.norm(ends - starts, axis=-1) * abs(bend.curvature) / FINE
    pieces = [
        start + (end - start) * np.arange(n)[:, None] / n
        for start, end, n in zip(
            starts, ends, np.maximum(np.ceil(turns), 1).astype(int), strict=True
        )
    ]
    return np.concatenate(pieces if closed else [*pieces, points[-1:]])


def mark_data(mark: Mark, decimals: int) -> str:
    """SVG path data of straight strokes."""
    parts = []
    for sub in mark.strokes:
        corners = np.round(sub.control(), decimals) + 0.0
        text = "L".join(f"{x:.12g} {y:.12g}" for x, y in corners.tolist())
        parts.append(f"M{text}{'Z' if sub.closed else ''}")
    return "".join(parts)


def mark_paint(mark: Mark, gradient_id: str) -> str:
    """Fill or stroke of a mark as SVG attributes."""
    paint = f"url(#{gradient_id})" if mark.gradient else mark.colour
    if mark.pen is None:
        rule = ' fill-rule="evenodd"' if mark.rule == "evenodd" else ""
        return f'fill="{paint}" fill-opacity="{mark.alpha:.6g}"{rule}'
    pen = mark.pen
    words = [
        'fill="none"', f'stroke="{paint}" stroke-opacity="{mark.alpha:.6g}"',
        f'stroke-width="{pen.width:.6g}" stroke-linecap="{pen.cap}"',
        f'stroke-linejoin="{pen.join}" stroke-miterlimit="{pen.miter_limit:.6g}"',
    ]  # fmt: skip
    if pen.dashes:
        dashes = " ".join(f"{dash:.6g}" for dash in pen.dashes)
        words.append(
            f'stroke-dasharray="{dashes}" stroke-dashoffset="{pen.dash_start:.6g}"'
        )
    return " ".join(words)


def gradient_markup(gradient: Gradient, gradient_id: str) -> str:
    """The gradient as a definition in drawing coordinates."""
    start, end, focus = gradient.points.tolist()
    if gradient.is_radial:
        radius = float(np.hypot(end[0] - start[0], end[1] - start[1]))
        kind = "radialGradient"
        words = (
            f'cx="{start[0]:.9g}" cy="{start[1]:.9g}" r="{radius:.9g}" '
            f'fx="{focus[0]:.9g}" fy="{focus[1]:.9g}"'
        )
    else:
        kind = "linearGradient"
        words = (
            f'x1="{start[0]:.9g}" y1="{start[1]:.9g}" x2="{end[0]:.9g}" y2="{end[1]:.9g}"'
        )
    stops = "".join(
        f'<stop offset="{offset:.6g}" stop-color="{colour}" stop-opacity="{alpha:.6g}"/>'
        for offset, colour, alpha in gradient.stops
    )
    return (
        f'<{kind} id="{gradient_id}" gradientUnits="userSpaceOnUse" {words} '
        f'gradientTransform="{_six(gradient.drawing_from_gradient)}">{stops}</{kind}>'
    )


def _six(transform: Affines) -> str:
    return f"matrix({' '.join(f'{v:.12g}' for v in transform[:2].T.ravel())})"
