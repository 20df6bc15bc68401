"""Colours and gradients: what a paint looks like, and how it travels with the piece."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from xml.sax.saxutils import quoteattr

import numpy as np
from lxml import etree
from PIL import ImageColor

from panelbeater.errors import plain
from panelbeater.svg.guard import local_name
from panelbeater.svg.numbers import length, ratio
from panelbeater.svg.styles import INITIAL, Rule, declarations, inherited

_FUNCTION = re.compile(r"rgba?\(([^)]*)\)$")
_URL = re.compile(r"url\(\s*['\"]?#([^'\")]+)['\"]?\s*\)\s*(.*)$", re.DOTALL)
_ENDS = {"x1": "0%", "y1": "0%", "x2": "100%", "y2": "0%"}
_DISC = {"cx": "50%", "cy": "50%", "r": "50%"}
_GRADIENT_NAMES = (
    "x1", "y1", "x2", "y2", "cx", "cy", "r", "fx", "fy", "fr",
    "gradientUnits", "gradientTransform", "spreadMethod",
)  # fmt: skip
GREY = "#888888"


@dataclass(frozen=True, slots=True)
class Paint:
    """One fill or stroke."""

    markup: str
    """What to write in the attribute: "none", #rrggbb or url(#pb-...)."""
    colour: str
    """#rrggbb or "none"; the mean of a gradient."""
    alpha: float = 1.0


NO_PAINT = Paint("none", "none")


def plain_colour(text: str) -> tuple[str, float] | None:
    """A CSS colour as #rrggbb and opacity, or None when it is not understood."""
    word = text.strip().lower()
    if word == "transparent":
        return "#000000", 0.0
    if found := _FUNCTION.match(word):
        parts = re.split(r"[\s,/]+", found[1].strip())
        try:
            channels = [
                round(float(part[:-1]) * 2.55) if part.endswith("%") else round(float(part))
                for part in parts[:3]
            ]
        except (ValueError, OverflowError):
            return None
        if len(channels) != 3:
            return None
        red, green, blue = (min(255, max(0, value)) for value in channels)
        return f"#{red:02x}{green:02x}{blue:02x}", ratio(parts[3]) if len(
            parts
        ) > 3 else 1.0
    try:
        named = ImageColor.getrgb(word)
    except (ValueError, OverflowError):
        return None
    alpha = named[3] / 255 if len(named) == 4 else 1.0
    return f"#{named[0]:02x}{named[1]:02x}{named[2]:02x}", alpha


def mean_colour(colours: list[tuple[str, float]]) -> str:
    """Weighted mean of #rrggbb colours."""
    if not colours:
        return GREY
    weights = np.array([max(weight, 1e-6) for _, weight in colours])
    channels = np.array(
        [[int(colour[k : k + 2], 16) for k in (1, 3, 5)] for colour, _ in colours]
    )
    red, green, blue = np.rint(weights @ channels / weights.sum()).astype(int)
    return f"#{red:02x}{green:02x}{blue:02x}"


def reference(text: str | None) -> tuple[str, str] | None:
    """The id a url(#id) points to, and what is written after it."""
    found = _URL.match((text or "").strip())
    return (found[1], found[2].strip()) if found else None


def href(element: etree._Element) -> str | None:
    """The id that an href or xlink:href inside this file points to."""
    for name, value in element.attrib.items():
        if isinstance(name, str) and re.split(r"[}:]", name)[-1] == "href":
            target = str(value).strip()
            return target[1:] if target.startswith("#") else None
    return None


@dataclass(slots=True)
class Shelf:
    """Definitions that the artwork refers to, collected while shapes are read."""

    by_id: dict[str, etree._Element]
    rules: tuple[Rule, ...]
    size: tuple[float, float]
    """Width and height of the view box: what percentages mean."""
    warnings: list[str] = field(default_factory=list)
    n_points: int = 0
    """Points of all paths read so far, copies included."""
    markup: dict[str, str] = field(default_factory=dict)
    paints: dict[str, Paint] = field(default_factory=dict)

    def new_id(self, wish: str) -> str:
        """A fresh id that starts with `pb-paint-`."""
        base = "pb-paint-" + (re.sub(r"[^A-Za-z0-9_.-]", "_", wish) or "paint")
        name, k = base, 2
        while name in self.markup:
            name, k = f"{base}-{k}", k + 1
        return name

    def warn(self, text: str) -> None:
        """Keep a warning, once."""
        if text not in self.warnings:
            self.warnings.append(text)

    def paint(self, style: dict[str, str], name: str) -> Paint:
        """The paint that `style` gives to "fill" or "stroke"."""
        text, opacity = style[name], ratio(style[f"{name}-opacity"])
        if found := reference(text):
            paint = self._server(found[0])
            if paint is not None:
                return Paint(paint.markup, paint.colour, opacity)
            text = found[1] or "none"
        if text in ("none", ""):
            return NO_PAINT
        if text.lower() == "currentcolor":
            text = style["color"]
        colour = plain_colour(text)
        if colour is None:
            self.warn(f"colour '{plain(text, 40)}' is not understood; painted grey")
            colour = (GREY, 1.0)
        return Paint(colour[0], colour[0], colour[1] * opacity)

    def _server(self, name: str) -> Paint | None:
        if name not in self.paints:
            element = self.by_id.get(name)
            tag = "" if element is None else local_name(element)
            if element is None:
                return None
            if tag in ("linearGradient", "radialGradient"):
                self.paints[name] = self._gradient(name, element)
            elif tag == "pattern":
                self.warn(f"pattern '{name}' is painted as one plain colour")
                colour = self._pattern_colour(element)
                self.paints[name] = Paint(colour, colour)
            else:
                return None
        return self.paints[name]

    def _pattern_colour(self, element: etree._Element) -> str:
        for inner in element.iter():
            colour = plain_colour(declarations(inner, self.rules).get("fill", "none"))
            if colour is not None:
                return colour[0]
        return GREY

    def _gradient(self, name: str, element: etree._Element) -> Paint:
        chain: list[etree._Element] = []
        at: etree._Element | None = element
        while at is not None and at not in chain:
            chain.append(at)
            at = self.by_id.get(href(at) or "")
        stops = next((found for one in chain if (found := self._stops(one))), [])
        if not stops:
            return NO_PAINT
        sets: dict[str, str] = {}
        for one in reversed(chain):
            sets |= {k: str(one.get(k)) for k in _GRADIENT_NAMES if one.get(k) is not None}
        tag = local_name(element)
        if sets.get("gradientUnits") == "userSpaceOnUse":
            sets |= self._absolute(sets, _ENDS if tag == "linearGradient" else _DISC)
        new = self.new_id(name)
        words = "".join(f" {k}={quoteattr(v)}" for k, v in sorted(sets.items()))
        inner = "".join(
            f'<stop offset="{at:g}" stop-color="{colour}" stop-opacity="{alpha:g}"/>'
            for at, colour, alpha in stops
        )
        self.markup[new] = f'<{tag} id="{new}"{words}>{inner}</{tag}>'
        return Paint(f"url(#{new})", _mean_of_stops(stops))

    def _absolute(self, sets: dict[str, str], otherwise: dict[str, str]) -> dict[str, str]:
        """Coordinates in user units: pieces are shown under other view boxes later on."""
        width, height = self.size
        wholes = {"x": width, "y": height, "r": float(np.hypot(width, height) / 2**0.5)}
        found = {}
        for name in ("x1", "y1", "x2", "y2", "cx", "cy", "r", "fx", "fy", "fr"):
            text = sets.get(name, otherwise.get(name))
            if text is not None:
                axis = "x" if "x" in name else "y" if "y" in name else "r"
                found[name] = f"{length(text, whole=wholes[axis]):.9g}"
        return found

    def _stops(self, element: etree._Element) -> list[tuple[float, str, float]]:
        stops: list[tuple[float, str, float]] = []
        for inner in element:
            if local_name(inner) != "stop":
                continue
            own = declarations(inner, self.rules)
            at = max(ratio(inner.get("offset") or "0", 0.0), stops[-1][0] if stops else 0.0)
            text = own.get("stop-color", "#000000")
            if text.lower() == "currentcolor":
                text = self._colour_at(inner)
            colour, alpha = plain_colour(text) or ("#000000", 1.0)
            stops.append((at, colour, alpha * ratio(own.get("stop-opacity", "1"))))
        return stops

    def _colour_at(self, element: etree._Element) -> str:
        style = dict(INITIAL)
        for outer in reversed([element, *element.iterancestors()]):
            style = inherited(style, declarations(outer, self.rules))
        return style["color"]


def _mean_of_stops(stops: list[tuple[float, str, float]]) -> str:
    """Mean along the gradient: each stop weighs by the span to its neighbours."""
    at = np.array([0.0, *(stop[0] for stop in stops), 1.0])
    spans = (at[2:] - at[:-2]) / 2
    spans[0] += at[1] / 2
    spans[-1] += (1 - at[-2]) / 2
    return mean_colour([(s[1], float(w)) for s, w in zip(stops, spans, strict=True)])
