"""Artwork as Lottie shapes: paths, fills, strokes and gradients of one layer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from panelbeater.exports.channels import join_turned, split_turned
from panelbeater.exports.marks import Gradient, Mark
from panelbeater.geometry.frames import apply
from panelbeater.svg.outlines import StrokeStyle
from panelbeater.svg.paths import Subpath
from panelbeater.terms.arrays import Affines, Floats, Points

CAPS = {"butt": 1, "round": 2, "square": 3}
JOINS = {"miter": 1, "round": 2, "bevel": 3}
RULES = {"nonzero": 1, "evenodd": 2}
EVEN = 1e-6
"""Share by which two scales may differ and still count as one."""
SPREAD = 100.0
"""A gradient's own unit frame is spread this far, so that rounding does not show."""


def still(value: Any) -> dict[str, Any]:
    """A property that never changes."""
    return {"a": 0, "k": value}


def rounded(values: Floats, decimals: int) -> list[Any]:
    """Plain nested numbers; -0 becomes 0."""
    out: list[Any] = (np.round(values, decimals) + 0.0).tolist()
    return out


def group(items: list[dict[str, Any]], **transform: dict[str, Any]) -> dict[str, Any]:
    """Shapes under one transform; what is not given stays as it is."""
    words = {
        "a": still([0, 0]), "p": still([0, 0]), "s": still([100, 100]), "r": still(0),
        "o": still(100), **transform,
    }  # fmt: skip
    return {"ty": "gr", "it": [*items, {"ty": "tr", **words}]}


@dataclass(frozen=True, slots=True, eq=False)
class Morph:
    """A mark that bends: the same corners at several frames."""

    frames: list[int]
    marks: list[Mark]
    is_held: bool
    """True where each drawing stands still until the next."""


def mark_group(
    mark: Mark, own_from_drawing: Affines, decimals: int, morph: Morph | None = None
) -> dict[str, Any]:
    """One mark with its paint, in the frame of its layer."""
    opacity = still(round(100 * mark.alpha, 3))
    if mark.gradient is not None:
        return _shaded(mark, mark.gradient, own_from_drawing, decimals, morph)
    paths = _paths(mark, own_from_drawing, decimals, morph)
    colour = still(_colour(mark.colour))
    if mark.pen is None:
        rule = RULES[mark.rule]
        return group([*paths, {"ty": "fl", "c": colour, "o": opacity, "r": rule}])
    zoom = float(np.sqrt(abs(np.linalg.det(own_from_drawing[:2, :2]))))
    return group([*paths, {"ty": "st", "c": colour, "o": opacity, **_pen(mark.pen, zoom)}])


def _colour(text: str) -> list[float]:
    return [round(int(text[k : k + 2], 16) / 255, 4) for k in (1, 3, 5)] + [1]


def _pen(pen: StrokeStyle, zoom: float) -> dict[str, Any]:
    words: dict[str, Any] = {
        "w": still(round(pen.width * zoom, 4)),
        "lc": CAPS.get(pen.cap, 1),
        "lj": JOINS.get(pen.join, 1),
        "ml": pen.miter_limit,
    }
    if pen.dashes and sum(pen.dashes) > 0:
        # An odd list is walked through twice (SVG 2, section 13.5.6).
        dashes = pen.dashes * (2 if len(pen.dashes) % 2 else 1)
        words["d"] = [
            {"n": "dg"[k % 2], "v": still(round(dash * zoom, 4))}
            for k, dash in enumerate(dashes)
        ]
        words["d"].append({"n": "o", "v": still(round(pen.dash_start * zoom, 4))})
    return words


def _shaded(
    mark: Mark,
    gradient: Gradient,
    own_from_drawing: Affines,
    decimals: int,
    morph: Morph | None,
) -> dict[str, Any]:
    """A gradient in its own frame, as Lottie knows circles and straight bands only."""
    own_from_gradient = own_from_drawing @ gradient.drawing_from_gradient
    x, y, turn, _, sx, sy = split_turned(own_from_gradient[None])[0]
    frame, place = np.eye(3), {}
    if abs(abs(sx) - abs(sy)) > EVEN * max(abs(sx), abs(sy)):
        frame = join_turned(np.array([[x, y, turn, 0.0, sx / SPREAD, sy / SPREAD]]))[0]
        place = {
            "p": still(rounded(np.array([x, y]), decimals)),
            "r": still(round(float(np.degrees(turn)), 5)),
            "s": still(rounded(np.array([sx, sy]) * 100 / SPREAD, 5)),
        }
        decimals = 3
    back = np.linalg.inv(frame)
    start, end, focus = apply(back @ own_from_gradient, gradient.points)
    fill: dict[str, Any] = {
        "ty": "gf",
        "o": still(round(100 * mark.alpha, 3)),
        "r": RULES[mark.rule],
        "t": 2 if gradient.is_radial else 1,
        "s": still(rounded(start, decimals)),
        "e": still(rounded(end, decimals)),
        "g": {"p": len(gradient.stops), "k": still(_stops(gradient))},
    }
    if gradient.is_radial:
        fill |= _highlight(start, end, focus)
    paths = _paths(mark, back @ own_from_drawing, decimals, morph)
    return group([*paths, fill], **place)


def _highlight(start: Points, end: Points, focus: Points) -> dict[str, Any]:
    """The focus of a radial gradient: percent of the radius, and degrees from its spot."""
    reach, away = end - start, focus - start
    radius = float(np.hypot(*reach))
    if radius == 0 or np.hypot(*away) < 1e-6 * radius:
        return {"h": still(0), "a": still(0)}
    turn = np.arctan2(away[1], away[0]) - np.arctan2(reach[1], reach[0])
    share = min(99.0, 100 * float(np.hypot(*away)) / radius)
    return {"h": still(round(share, 3)), "a": still(round(float(np.degrees(turn)), 4))}


def _stops(gradient: Gradient) -> list[float]:
    """Offset, red, green, blue of every stop, then offset and opacity where any shows
    through.
    """
    words: list[float] = []
    for offset, colour, _ in gradient.stops:
        words += [round(offset, 5), *_colour(colour)[:3]]
    if any(alpha < 1 for _, _, alpha in gradient.stops):
        for offset, _, alpha in gradient.stops:
            words += [round(offset, 5), round(alpha, 5)]
    return words


def _paths(
    mark: Mark, own_from_drawing: Affines, decimals: int, morph: Morph | None
) -> list[dict[str, Any]]:
    def placed(sub: Subpath) -> dict[str, Any]:
        return _bezier(sub.moved(own_from_drawing), decimals)

    if morph is None:
        return [{"ty": "sh", "ks": still(placed(sub))} for sub in mark.strokes]
    through = zip(*(bent.strokes for bent in morph.marks), strict=True)
    shapes = [[[placed(sub)] for sub in subs] for subs in through]
    return [
        {"ty": "sh", "ks": keyed(morph.frames, shape, is_held=morph.is_held)}
        for shape in shapes
    ]


def keyed(frames: Sequence[int], values: Sequence[Any], *, is_held: bool) -> dict[str, Any]:
    """A property over time, joined by straight lines or held."""
    joined = {"h": 1} if is_held else {"i": {"x": 1, "y": 1}, "o": {"x": 0, "y": 0}}
    last = len(frames) - 1
    return {
        "a": 1,
        "k": [
            {"t": frame, "s": value, **(joined if k < last else {})}
            for k, (frame, value) in enumerate(zip(frames, values, strict=True))
        ],
    }


def _bezier(sub: Subpath, decimals: int) -> dict[str, Any]:
    """Vertices with tangents relative to them; a closing curve ends on the first."""
    at = sub.start
    vertices, into, out = [at], [np.zeros(2)], [np.zeros(2)]
    for part in sub.parts:
        end = part[-1]
        if len(part) == 3:
            out[-1] = part[0] - at
        vertices.append(end)
        into.append(part[1] - end if len(part) == 3 else np.zeros(2))
        out.append(np.zeros(2))
        at = end
    if sub.closed and len(vertices) > 1 and np.allclose(vertices[0], at, atol=1e-9):
        into[0] = into.pop()
        vertices.pop()
        out.pop()
    return {
        "c": sub.closed,
        "v": rounded(np.array(vertices), decimals),
        "i": rounded(np.array(into), decimals),
        "o": rounded(np.array(out), decimals),
    }
