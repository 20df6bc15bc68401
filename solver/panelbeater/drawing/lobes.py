"""Find wheels that are drawn as round lobes of a larger outline, and cut them free."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Polygon

from panelbeater.svg import areas_of
from panelbeater.terms.arrays import Points
from panelbeater.terms.drawing import Shape

LEAST_SPAN = math.radians(110)
"""A wheel shows at least this much of its rim below the body; rounded corners show 90."""
INWARD = math.radians(20)
"""Least inward turn where a rim meets the body."""
ROUND = 0.015
"""How far rim points may lie off the circle, as a share of its radius."""


@dataclass(frozen=True, slots=True, eq=False)
class Rim:
    """A run of outline points on one circle."""

    centre: Points
    """(2,)"""
    radius: float
    points: Points
    """(n, 2), in outline order."""

    def disc(self) -> Polygon:
        """The whole circle, as a polygon of 96 sides."""
        angles = np.linspace(0, 2 * math.pi, 97)[:-1]
        ways = np.stack([np.cos(angles), np.sin(angles)], axis=1)
        return Polygon(self.centre + self.radius * ways)

    def seam(self) -> LineString:
        """The rest of the circle, from the run's last point round to its first."""
        first, last = self.points[0] - self.centre, self.points[-1] - self.centre
        start, stop = math.atan2(last[1], last[0]), math.atan2(first[1], first[0])
        way = _span(self.points - self.centre)
        sweep = (stop - start) % (2 * math.pi)
        sweep = sweep if way > 0 else sweep - 2 * math.pi
        angles = start + np.linspace(0, sweep, 65)[1:-1]
        arc = self.centre + self.radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)
        return LineString([self.points[-1], *arc, self.points[0]])


def _span(spokes: Points) -> float:
    """Signed angle swept by (n, 2) vectors from first to last."""
    a, b = spokes[:-1], spokes[1:]
    cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return float(np.arctan2(cross, (a * b).sum(axis=1)).sum())


def _near(points: Points, distance: float) -> Points:
    """(n, 2) points up to one farther than `distance` from the first; at least four."""
    far = np.hypot(*(points - points[0]).T) > distance
    return points[: max(4, int(np.argmax(far)) + 1 if far.any() else len(points))]


def _sharpest_inward(points: Points) -> float:
    """The most negative turn along (n, 2) points."""
    steps = np.diff(points, axis=0)
    return min(_span(steps[k : k + 2]) for k in range(len(steps) - 1))


def _circle_through(a: Points, b: Points, c: Points) -> tuple[Points, float] | None:
    rows = 2 * np.array([b - a, c - a])
    if abs(np.linalg.det(rows)) < 1e-12 * float(np.abs(rows).max()) ** 2:
        return None
    centre = np.linalg.solve(rows, np.array([b @ b - a @ a, c @ c - a @ a]))
    return centre, float(np.hypot(*(a - centre)))


def _rims(polygon: Polygon) -> list[Rim]:
    """Runs of the outer edge that lie on one circle, longest first."""
    ring = np.asarray(shapely.geometry.polygon.orient(polygon).exterior.coords)[:-1]
    n, found, k = len(ring), [], 0
    while k < n:
        run = _run_from(ring, k)
        if run is not None:
            found.append(run)
            k += max(1, len(run.points) - 2)
        else:
            k += 1
    return sorted(found, key=lambda rim: -len(rim.points))


def _run_from(ring: Points, k: int) -> Rim | None:
    n = len(ring)
    circle = _circle_through(*(ring[(k + step) % n] for step in (0, 2, 4)))
    if circle is None:
        return None
    centre, radius = circle
    off = np.abs(np.hypot(*(np.roll(ring, -k, axis=0) - centre).T) - radius)
    length = n if np.all(off <= ROUND * radius) else int(np.argmax(off > ROUND * radius))
    points = np.roll(ring, -k, axis=0)[:length]
    if length < 6:
        return None
    steps = np.hypot(*np.diff(points, axis=0).T)
    span = _span(points - centre)
    # The outer edge runs with positive area: bulges outwards turn positive.
    if span < LEAST_SPAN or steps.max() > radius * math.radians(50):
        return None
    # A wheel meets the body in inward corners; the smooth end of a skid is no wheel.
    reach = max(3, n // 8)
    before = ring[(np.arange(k + 1, k - reach, -1)) % n]
    after = ring[(np.arange(k + length - 2, k + length - 1 + reach)) % n]
    ends = (_near(before, 0.4 * radius)[::-1], _near(after, 0.4 * radius))
    if any(_sharpest_inward(end) > -INWARD for end in ends):
        return None
    return Rim(centre, radius, points)


def _is_wheel(rim: Rim, polygon: Polygon, silhouette: Shape) -> bool:
    y0, y1 = silhouette.bounds[1], silhouette.bounds[3]
    height = y1 - y0
    if not 0.06 * height < rim.radius < 0.35 * height or rim.centre[1] < y0 + 0.5 * height:
        return False
    low = float(rim.points[:, 1].max())
    touches_ground = low > max(rim.centre[1] + 0.97 * rim.radius, y1 - 0.12 * height)
    disc = rim.disc()
    filled = Polygon(polygon.exterior)
    return touches_ground and filled.intersection(disc).area > 0.85 * disc.area


def cut_wheels(polygon: Polygon, silhouette: Shape) -> list[Polygon]:
    """Wheels and the rest of `polygon`; the polygon alone when no wheel shows.

    A wheel is a rim of at least 110 degrees that reaches the bottom of its circle, in the
    lower half of `silhouette`; it is cut free along the rest of that circle.
    """
    wheels: list[Rim] = []
    for rim in _rims(polygon):
        is_apart = all(
            np.hypot(*(rim.centre - other.centre)) > 0.9 * (rim.radius + other.radius)
            for other in wheels
        )
        if is_apart and _is_wheel(rim, polygon, silhouette):
            wheels.append(rim)
    if not wheels or polygon.area < 1.2 * sum(rim.disc().area for rim in wheels):
        return [polygon]
    lines = shapely.union_all([polygon.boundary, *(rim.seam() for rim in wheels)])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    inside = [face for face in faces if polygon.covers(face.point_on_surface())]
    found: list[Polygon] = []
    for rim in wheels:
        disc = rim.disc().buffer(ROUND * rim.radius)
        own = [face for face in inside if disc.covers(face.point_on_surface())]
        own = [face for face in own if face.difference(disc).area < 0.02 * face.area]
        inside = [face for face in inside if face not in own]
        found += _polygons(own)
    return found + _polygons(inside)


def _polygons(faces: list[Polygon]) -> list[Polygon]:
    whole = areas_of(shapely.union_all(faces))
    return [part for part in shapely.get_parts(whole) if isinstance(part, Polygon)]
