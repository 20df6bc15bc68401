"""Lengths, transforms and view boxes as numbers."""

from __future__ import annotations

import math
import re

import numpy as np

from panelbeater.errors import plain
from panelbeater.terms.arrays import Affines

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_NUMBERS = re.compile(NUMBER)
_LENGTH = re.compile(rf"({NUMBER})\s*(px|pt|pc|mm|cm|in|em|ex|rem|q|%|)$", re.IGNORECASE)
_LONGEST = 200
"""Letters of one length; what is longer is no length, and slow to look at."""
_TRANSFORM = re.compile(r"([A-Za-z]{1,20})\s{0,20}\(([^)]*)\)")
LARGEST = 1e6
FONT_SIZE = 16.0
# CSS Values 3, section 6.2: 96 px to the inch.
_UNITS = {
    "": 1.0,
    "px": 1.0,
    "pt": 4 / 3,
    "pc": 16.0,
    "mm": 96 / 25.4,
    "cm": 96 / 2.54,
    "q": 96 / 101.6,
    "in": 96.0,
    "em": FONT_SIZE,
    "rem": FONT_SIZE,
    "ex": FONT_SIZE / 2,
}


class BadNumberError(ValueError):
    """A coordinate that is no number, or absurd; the reader adds file and element."""


def sane(value: float, written: str) -> float:
    """Hand `value` back when it can be a coordinate: finite, at most 1e6."""
    if not math.isfinite(value) or abs(value) > LARGEST:
        raise BadNumberError(
            f"'{plain(written, 40)}' is not a usable coordinate (at most 1e6)"
        )
    return value


def length(text: str, *, whole: float) -> float:
    """A length in user units; `whole` is what 100 % means."""
    word = text.strip()
    found = _LENGTH.match(word) if len(word) <= _LONGEST else None
    if found is None:
        raise BadNumberError(f"'{plain(word, 40)}' is not a length")
    value, unit = float(found[1]), found[2].lower()
    return sane(value * (whole / 100 if unit == "%" else _UNITS[unit]), word)


def numbers(text: str) -> list[float]:
    """All numbers in a list such as "1,2 3"; anything else in it is refused."""
    if _NUMBERS.sub("", text).strip(" ,\t\r\n"):
        raise BadNumberError(
            f"'{plain(text.strip(), 40)}' holds something that is no number"
        )
    return [sane(float(word), word) for word in _NUMBERS.findall(text)]


def ratio(text: str, otherwise: float = 1.0) -> float:
    """An opacity or offset, "0.5" or "50%", held to 0..1."""
    try:
        value = float(text[:-1]) / 100 if text.endswith("%") else float(text)
    except ValueError:
        return otherwise
    return min(1.0, max(0.0, value)) if math.isfinite(value) else otherwise


def affine(a: float, b: float, c: float, d: float, e: float, f: float) -> Affines:
    """The (3, 3) form of an SVG matrix(a b c d e f)."""
    return np.array([[a, c, e], [b, d, f], [0.0, 0.0, 1.0]])


def _one_transform(kind: str, v: list[float]) -> Affines:
    if kind == "matrix" and len(v) == 6:
        return affine(*v)
    if kind == "translate" and len(v) in (1, 2):
        return affine(1, 0, 0, 1, v[0], v[1] if len(v) == 2 else 0.0)
    if kind == "scale" and len(v) in (1, 2):
        return affine(v[0], 0, 0, v[-1], 0, 0)
    if kind == "rotate" and len(v) in (1, 3):
        turn = math.radians(v[0])
        cos, sin = math.cos(turn), math.sin(turn)
        x, y = v[1:] if len(v) == 3 else (0.0, 0.0)
        return affine(cos, sin, -sin, cos, x - cos * x + sin * y, y - sin * x - cos * y)
    if kind == "skewX" and len(v) == 1:
        return affine(1, 0, math.tan(math.radians(v[0])), 1, 0, 0)
    if kind == "skewY" and len(v) == 1:
        return affine(1, math.tan(math.radians(v[0])), 0, 1, 0, 0)
    raise BadNumberError(f"transform '{kind}' with {len(v)} numbers is not understood")


def transform(text: str | None) -> Affines:
    """A transform attribute as one (3, 3) matrix; CSS units px and deg are accepted."""
    matrix: Affines = np.eye(3)
    if text is None or text.strip() in ("", "none"):
        return matrix
    for kind, inside in _TRANSFORM.findall(text):
        matrix = matrix @ _one_transform(kind, numbers(re.sub(r"px|deg", " ", inside)))
    return matrix


def fit_view_box(
    box: tuple[float, float, float, float], width: float, height: float, fit: str
) -> Affines:
    """Place a view box in a width x height viewport as preserveAspectRatio `fit` says."""
    x, y, w, h = box
    sx, sy = width / w, height / h
    if fit.split(" ")[0] == "none":
        return affine(sx, 0, 0, sy, -x * sx, -y * sy)
    scale = max(sx, sy) if "slice" in fit else min(sx, sy)
    share_x = 0.0 if "xMin" in fit else 1.0 if "xMax" in fit else 0.5
    share_y = 0.0 if "YMin" in fit else 1.0 if "YMax" in fit else 0.5
    dx = (width - w * scale) * share_x - x * scale
    dy = (height - h * scale) * share_y - y * scale
    return affine(scale, 0, 0, scale, dx, dy)
