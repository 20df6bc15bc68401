"""Path data and basic shapes as lines and cubic curves."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np

from panelbeater.geometry.frames import apply
from panelbeater.svg.numbers import NUMBER, BadNumberError, sane
from panelbeater.terms.arrays import Affines, Points

# Possessive blanks: a long run of them is looked at once.
_TOKEN = re.compile(rf"\s*+,?\s*+(?:([MmZzLlHhVvCcSsQqTtAa])|({NUMBER}))")
_FLAG = re.compile(r"\s*+,?\s*+([01])")
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_NOT_NUMBERS = re.compile(r"nan|inf", re.IGNORECASE)
MOST_POINTS = 200_000
"""Corners of one stroke; a rich drawing has a tenth of them in all its shapes."""
MOST_LETTERS = 4_000_000
"""About two seconds of reading; a very rich drawing has a tenth of it in all."""


@dataclass(frozen=True, slots=True, eq=False)
class Subpath:
    """One pen stroke: a start point, then lines (1, 2) and cubic curves (3, 2)."""

    start: Points
    """(2,)"""
    parts: tuple[Points, ...]
    closed: bool

    def moved(self, matrix: Affines) -> Subpath:
        """The same stroke through a (3, 3) matrix."""
        start = apply(matrix, self.start[None])[0]
        return Subpath(
            start, tuple(apply(matrix, part) for part in self.parts), self.closed
        )

    def control(self) -> Points:
        """(n, 2), all control points."""
        return np.concatenate([self.start[None], *self.parts])

    def flat(self, tolerance: float) -> Points:
        """(n, 2) points along the stroke, no farther than `tolerance` from the curves.

        Steps per curve by Wang's bound on the second differences, at least four.
        """
        points, n_points = [self.start[None]], 1
        at = self.start
        for part in self.parts:
            points.append(part if len(part) == 1 else _flat_cubic(at, part, tolerance))
            at = part[-1]
            n_points += len(points[-1])
            if n_points > MOST_POINTS:
                raise BadNumberError("curves without end; simplify it")
        return np.concatenate(points)


def _flat_cubic(start: Points, part: Points, tolerance: float) -> Points:
    p0, (p1, p2, p3) = start, part
    bend = max(np.hypot(*(p0 - 2 * p1 + p2)), np.hypot(*(p1 - 2 * p2 + p3)))
    if bend <= 1e-3 * tolerance:
        return part[2:]
    n = min(512, max(4, math.ceil(math.sqrt(0.75 * bend / tolerance))))
    t = np.linspace(0, 1, n + 1)[1:, None]
    s = 1 - t
    curve: Points = s**3 * p0 + 3 * s * s * t * p1 + 3 * s * t * t * p2 + t**3 * p3
    curve[-1] = p3
    return curve


def _elevated(at: Points, control: Points, end: Points) -> Points:
    return np.array([at + 2 / 3 * (control - at), end + 2 / 3 * (control - end), end])


def arc_parts(at: Points, values: list[float]) -> list[Points]:
    """An elliptical arc as cubic curves (SVG 2, appendix B.2.4, F.6.5-F.6.6)."""
    rx, ry, turn, large, sweep, x, y = values
    end = np.array([x, y])
    rx, ry = abs(rx), abs(ry)
    if np.array_equal(at, end):
        return []
    if min(rx, ry) < 1e-12:
        return [end[None]]
    phi = math.radians(turn)
    axes = np.array([[math.cos(phi), -math.sin(phi)], [math.sin(phi), math.cos(phi)]])
    half = axes.T @ ((at - end) / 2)
    excess = (half[0] / rx) ** 2 + (half[1] / ry) ** 2
    if excess > 1:
        rx, ry = rx * math.sqrt(excess), ry * math.sqrt(excess)
        excess = 1.0
    sign = -1.0 if bool(large) == bool(sweep) else 1.0
    factor = sign * math.sqrt(max(0.0, 1 / excess - 1))
    centre = factor * np.array([rx * half[1] / ry, -ry * half[0] / rx])
    first = math.atan2((half[1] - centre[1]) / ry, (half[0] - centre[0]) / rx)
    last = math.atan2((-half[1] - centre[1]) / ry, (-half[0] - centre[0]) / rx)
    span = last - first
    if sweep and span < 0:
        span += 2 * math.pi
    elif not sweep and span > 0:
        span -= 2 * math.pi
    middle = axes @ centre + (at + end) / 2
    curves = _unit_arc(first, span)
    frame = axes * np.array([rx, ry])
    parts = [curve @ frame.T + middle for curve in curves]
    parts[-1][-1] = end
    return parts


def _unit_arc(first: float, span: float) -> list[Points]:
    n = max(1, math.ceil(abs(span) / (math.pi / 2) - 1e-9))
    step = span / n
    pull = 4 / 3 * math.tan(step / 4)
    curves = []
    for k in range(n):
        a, b = first + k * step, first + (k + 1) * step
        begin, stop = (
            np.array([math.cos(a), math.sin(a)]),
            np.array([math.cos(b), math.sin(b)]),
        )
        out, back = np.array([-begin[1], begin[0]]), np.array([stop[1], -stop[0]])
        curves.append(np.array([begin + pull * out, stop + pull * back, stop]))
    return curves


class _Pen:
    """Follows path commands and keeps the strokes drawn so far."""

    def __init__(self) -> None:
        self.done: list[Subpath] = []
        self.start = self.at = np.zeros(2)
        self.parts: list[Points] = []
        self.down = False
        self.last_control: Points | None = None
        self.last_kind = "M"

    def lift(self, *, closed: bool) -> None:
        if self.down and (self.parts or closed):
            self.done.append(Subpath(self.start, tuple(self.parts), closed))
        self.parts, self.down = [], False

    def reflected(self, kinds: str) -> Points:
        if self.last_control is None or self.last_kind not in kinds:
            return self.at
        return 2 * self.at - self.last_control

    def draw(self, letter: str, v: list[float]) -> None:
        kind = letter.upper()
        origin = self.at if letter.islower() else np.zeros(2)
        if kind == "Z":
            self.lift(closed=True)
            self.at = self.start
        elif kind == "M":
            self.lift(closed=False)
            self.start = self.at = origin + v
            self.down = True
        else:
            self.down = True
            self._add(kind, self._parts(kind, origin, v))
        self.last_kind = kind

    def _add(self, kind: str, parts: list[Points]) -> None:
        self.parts += parts
        if kind not in "CSQT":
            self.last_control = None
        if parts:
            self.at = parts[-1][-1]

    def _parts(self, kind: str, o: Points, v: list[float]) -> list[Points]:
        at = self.at
        if kind == "L":
            return [(o + v)[None]]
        if kind == "H":
            return [np.array([[o[0] + v[0], at[1]]])]
        if kind == "V":
            return [np.array([[at[0], o[1] + v[0]]])]
        if kind == "A":
            end = o + v[5:]
            return arc_parts(at, [*v[:5], float(end[0]), float(end[1])])
        points = [o + v[k : k + 2] for k in range(0, len(v), 2)]
        if kind == "S":
            points.insert(0, self.reflected("CS"))
        if kind == "T":
            points.insert(0, self.reflected("QT"))
        self.last_control = points[-2]
        if kind in "CS":
            return [np.array(points)]
        return [_elevated(at, points[0], points[1])]


def read_path(text: str) -> tuple[list[Subpath], bool]:
    """Strokes of path data, and whether all of it was understood.

    As browsers do, everything before the first mistake is kept; coordinates that are no
    finite number raise BadNumberError.
    """
    if bad := _NOT_NUMBERS.search(text):
        raise BadNumberError(f"'{bad[0]}' is not a usable coordinate")
    if len(text) > MOST_LETTERS:
        raise BadNumberError(f"more than {MOST_LETTERS} letters of path data; simplify it")
    pen, place, letter = _Pen(), 0, ""
    complete, end = True, len(text.rstrip())
    while place < end:
        found = _TOKEN.match(text, place)
        if found is None or (not letter and (found[1] or "x") not in "Mm"):
            complete = False
            break
        if found[1]:
            letter, place = found[1], found.end()
        elif letter in "Zz":
            complete = False
            break
        values, place = _arguments(text, place, letter.upper())
        if values is None:
            complete = False
            break
        pen.draw(letter, values)
        letter = {"M": "L", "m": "l"}.get(letter, letter)
    pen.lift(closed=False)
    return pen.done, complete


def _arguments(text: str, place: int, kind: str) -> tuple[list[float] | None, int]:
    values: list[float] = []
    for k in range(_COUNTS[kind]):
        is_flag = kind == "A" and k in (3, 4)
        found = (_FLAG if is_flag else _TOKEN).match(text, place)
        word = None if found is None else found[1] if is_flag else found[2]
        if found is None or word is None:
            return None, place
        values.append(sane(float(word), word))
        place = found.end()
    return values, place


def polyline(points: Points, *, closed: bool) -> Subpath:
    """Straight lines through (n, 2) points."""
    return Subpath(points[0], tuple(point[None] for point in points[1:]), closed)


def ellipse(x: float, y: float, rx: float, ry: float) -> Subpath:
    """A whole ellipse as four cubic curves, from its right end."""
    frame, middle = np.array([rx, ry]), np.array([x, y])
    parts = tuple(curve * frame + middle for curve in _unit_arc(0.0, 2 * math.pi))
    return Subpath(np.array([x + rx, y]), parts, closed=True)


def rectangle(x: float, y: float, w: float, h: float, rx: float, ry: float) -> Subpath:
    """A rectangle, its corners rounded when rx and ry are positive."""
    if min(rx, ry) <= 0:
        corners = np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]])
        return polyline(corners, closed=True)
    start, turns = np.array([x + rx, y]), np.array([rx, ry])
    # Each corner: where its side ends, the centre of its rounding, the angle it starts at.
    corners_at = [
        ((x + w - rx, y), (x + w - rx, y + ry), -math.pi / 2),
        ((x + w, y + h - ry), (x + w - rx, y + h - ry), 0.0),
        ((x + rx, y + h), (x + rx, y + h - ry), math.pi / 2),
        ((x, y + ry), (x + rx, y + ry), math.pi),
    ]
    parts: list[Points] = []
    for end, centre, angle in corners_at:
        parts.append(np.array([end]))
        parts.append(_unit_arc(angle, math.pi / 2)[0] * turns + np.array(centre))
    return Subpath(start, tuple(parts), closed=True)


def written(subpaths: list[Subpath]) -> str:
    """Path data, absolute M L C Z, that draws `subpaths`."""
    words: list[str] = []
    for sub in subpaths:
        words.append("M" + _pairs(sub.start[None]))
        words += [("L" if len(part) == 1 else "C") + _pairs(part) for part in sub.parts]
        words += ["Z"] if sub.closed else []
    return "".join(words)


def _pairs(points: Points) -> str:
    return " ".join(f"{x:.8g},{y:.8g}" for x, y in points)
