"""The pen that draws the benchmark drawings: rounded panels with a lit and a shaded edge."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.affinity import translate

INK = "#16203a"
RUBBER, STEEL, PAPER = "#39414f", "#a7b6bd", "#fbf3e2"
GRID = 2
"""Points per drawing unit: half a unit is finer than the eye and short to write."""

Corner = tuple[float, float] | tuple[float, float, float]
"""x, y and, where it differs from the rest of the panel, the radius of this corner."""


@dataclass(frozen=True, slots=True)
class Tone:
    """One paint: as it lies in the light, in the shade, and along a lit edge."""

    base: str
    dark: str
    light: str


ORANGE = Tone("#f0752b", "#cf5718", "#ff9d57")
RED = Tone("#d9453c", "#b02d2b", "#ef7a6a")
YELLOW = Tone("#f8c63d", "#d89b22", "#ffe596")
TEAL = Tone("#229a95", "#17716f", "#57c4bb")
BLUE = Tone("#4a93d0", "#3070ab", "#86c1ee")
NAVY = Tone("#2f4475", "#22325a", "#5a76ab")
CREAM = Tone("#fbf3e2", "#dccfb2", "#ffffff")
WHITE = Tone("#f3f4ef", "#cbd2d3", "#ffffff")
SLATE = Tone("#4b5661", "#363f49", "#7a8794")
COAL = Tone("#39414f", "#272d39", "#5f6a7b")
METAL = Tone("#a7b6bd", "#7b8d96", "#e2eaed")
GREEN = Tone("#5f9e4f", "#447938", "#93c980")
WINE = Tone("#8c3346", "#692233", "#bb6377")


def box(x: float, y: float, width: float, height: float) -> list[Corner]:
    """The corners of an upright rectangle."""
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]


def piece(name: str, *parts: str) -> str:
    """A named group: one piece of a vehicle, or one region of a figure."""
    return f'<g id="{name}">\n' + "\n".join(parts) + "\n</g>"


def panel(
    corners: Sequence[Corner], tone: Tone, *, radius: float = 6, shade: float = 5
) -> str:
    """An inked panel that is lit along its upper edges and shaded along its lower ones."""
    path, shape = rounded(corners, radius)
    inside = shape.buffer(-1.2)
    low = inside.difference(translate(inside, 0, -shade))
    inner = shape.buffer(-2.8)
    high = inner.difference(translate(inner, 0, 2.4))
    return (
        f'<path class="k" fill="{tone.base}" d="{path}"/>'
        f'<path fill="{tone.dark}" d="{outline(low)}"/>'
        f'<path fill="{tone.light}" d="{outline(high)}"/>'
    )


def flat(
    corners: Sequence[Corner], fill: str, *, radius: float = 0, inked: bool = False
) -> str:
    """A patch of one colour, for markings inside a piece."""
    mark = ' class="k"' if inked else ""
    return f'<path{mark} fill="{fill}" d="{rounded(corners, radius)[0]}"/>'


def line(points: Sequence[tuple[float, float]], colour: str = INK, width: float = 2) -> str:
    """An open line with round ends."""
    path = _steps([("M", [points[0]])] + [("l", [point]) for point in points[1:]])
    return f'<path class="l" stroke="{colour}" stroke-width="{width:g}" d="{path}"/>'


def disc(x: float, y: float, radius: float, fill: str, *, inked: bool = False) -> str:
    """A filled circle."""
    mark = ' class="k"' if inked else ""
    return f'<circle{mark} cx="{x:g}" cy="{y:g}" r="{radius:g}" fill="{fill}"/>'


def ring(
    x: float, y: float, radius: float, colour: str, width: float, *, dashes: str = ""
) -> str:
    """A circle drawn as a line, dashed for nuts, lugs and rope."""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<circle cx="{x:g}" cy="{y:g}" r="{radius:g}" fill="none" stroke="{colour}"'
        f' stroke-width="{width:g}"{dashed}/>'
    )


def glass(corners: Sequence[Corner], *, radius: float = 5) -> str:
    """A pane with two slanted glints."""
    path, shape = rounded(corners, radius)
    x0, y0, x1, y1 = shape.bounds
    tall, middle = y1 - y0, (x0 + x1) / 2
    pane = shape.buffer(-3)
    slants = [
        shapely.Polygon(
            [(x, y0), (x + wide, y0), (x + wide - tall / 2, y1), (x - tall / 2, y1)]
        )
        for x, wide in ((middle, tall / 5), (middle + tall / 2.8, tall / 12))
    ]
    glint = shapely.union_all([slant.intersection(pane) for slant in slants])
    return (
        f'<path class="k" fill="url(#glass)" d="{path}"/>'
        f'<path fill="#fff" fill-opacity=".6" d="{outline(glint)}"/>'
    )


def wheel(x: float, y: float, radius: float, rim: Tone, *, hub: str = ORANGE.base) -> str:
    """A tyre with lugs, a rim with nuts, a hub cap with a glint."""
    lugs = np.pi * radius * 2 / max(10, round(radius / 2.6))
    return "".join(
        (
            disc(x, y, radius - 1.5, COAL.base, inked=True),
            ring(
                x,
                y,
                radius - 5,
                "#1f2530",
                5,
                dashes=f"{lugs * 0.55:.2f} {lugs * 0.45:.2f}",
            ),
            ring(x, y, radius * 0.76, COAL.light, 1.5),
            disc(x, y, radius * 0.58, rim.base, inked=True),
            ring(x, y, radius * 0.46, rim.dark, radius * 0.07),
            _bolts(x, y, radius * 0.36, 6, radius * 0.09),
            disc(x, y, radius * 0.2, INK),
            disc(x, y, radius * 0.15, hub),
            disc(x - radius * 0.04, y - radius * 0.05, radius * 0.06, "#fff4dc"),
        )
    )


def _bolts(x: float, y: float, radius: float, count: int, size: float) -> str:
    gap = 2 * np.pi * radius / count
    return (
        f'<circle class="n" cx="{x:g}" cy="{y:g}" r="{radius:.4g}" '
        f'stroke-width="{size:.3g}" stroke-dasharray=".01 {gap - 0.01:.3f}"/>'
    )


def bolts(points: Iterable[tuple[float, float]], colour: str = INK) -> str:
    """Rivet heads, all in one line of dots."""
    path = "".join(f"M{_number(x)} {_number(y)}h.01" for x, y in points)
    return f'<path class="l" stroke="{colour}" stroke-width="4" d="{path}"/>'


def slats(
    x: float, y: float, width: float, n: int, *, gap: float = 8, colour: str = INK
) -> str:
    """Louvres: level lines one below the other."""
    path = "".join(
        f"M{_number(x)} {_number(y + k * gap)}h{_number(width)}" for k in range(n)
    )
    return f'<path class="l" stroke="{colour}" stroke-width="4" d="{path}"/>'


def ribs(x: float, y: float, tall: float, n: int, *, gap: float, colour: str) -> str:
    """Folds in sheet metal: upright lines side by side."""
    path = "".join(
        f"M{_number(x + k * gap)} {_number(y)}v{_number(tall)}" for k in range(n)
    )
    return f'<path class="l" stroke="{colour}" stroke-width="4" d="{path}"/>'


def hazard(x: float, y: float, width: float, height: float, *, first: str = INK) -> str:
    """A warning band: slanted stripes on yellow."""
    band = shapely.box(x, y, x + width, y + height)
    step = max(12.0, height)
    stripes = [
        shapely.Polygon(
            [(at, y), (at + step / 2, y), (at + step / 2 - height, y + height),
             (at - height, y + height)]
        )
        for at in np.arange(x, x + width + height, step)
    ]  # fmt: skip
    dark = shapely.union_all([stripe.intersection(band) for stripe in stripes])
    return (
        f'<path class="k" fill="{YELLOW.base}" d="{rounded(box(x, y, width, height), 1)[0]}"/>'
        f'<path fill="{first}" d="{outline(dark)}"/>'
    )


def lamp(x: float, y: float, radius: float, glow: str = "#ffeaa2") -> str:
    """A round lamp with a bright spot."""
    return (
        disc(x, y, radius, glow, inked=True)
        + ring(x, y, radius * 0.66, "#fff", 1.5)
        + disc(x - radius * 0.25, y - radius * 0.3, radius * 0.28, "#fffef2")
    )


def badge(x: float, y: float) -> str:
    """The mark of the yard: two waves on a disc."""
    return f'<use href="#yard" x="{x:g}" y="{y:g}"/>'


def sheet(width: int, height: int, pieces: Iterable[str], *, shared: str = "") -> str:
    """The whole drawing with the paints it shares."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">\n'
        f"<style>.k{{stroke:{INK};stroke-width:3;stroke-linejoin:round}}"
        ".l{fill:none;stroke-linecap:round;stroke-linejoin:round}"
        f".n{{fill:none;stroke:{INK};stroke-linecap:round}}</style>\n"
        '<defs><linearGradient id="glass" x2=".4" y2="1"><stop stop-color="#e0f7f8"/>'
        '<stop offset=".5" stop-color="#9ed8e2"/><stop offset="1" stop-color="#579fb1"/>'
        '</linearGradient><g id="yard"><circle r="14" fill="#fffdf5"/>'
        f'<circle r="11" fill="{NAVY.base}"/><path fill="none" stroke="#fffdf5" '
        'stroke-width="2.6" stroke-linecap="round" d="M-8-3.5q4-5 8 0t8 0M-8 4q4-5 8 0t8 0"/>'
        f"</g>{shared}</defs>\n" + "\n".join(pieces) + "\n</svg>\n"
    )


# --- outlines ------------------------------------------------------------------------------


def rounded(corners: Sequence[Corner], radius: float) -> tuple[str, shapely.Polygon]:
    """The path of a polygon with rounded corners, and the same as a polygon."""
    places = np.array([corner[:2] for corner in corners], dtype=np.float64)
    marks: list[tuple[str, list[tuple[float, float]]]] = []
    points: list[tuple[float, float]] = []
    for k, corner in enumerate(corners):
        here = places[k]
        back, on = places[k - 1] - here, places[(k + 1) % len(corners)] - here
        long = min(float(np.hypot(*back)), float(np.hypot(*on)))
        wished = corner[2] if len(corner) == 3 else radius
        cut = min(wished, long / 2)
        enter = here + back / np.hypot(*back) * cut
        leave = here + on / np.hypot(*on) * cut
        marks.append(("l" if marks else "M", [(enter[0], enter[1])]))
        if cut > 0.5:
            marks.append(("q", [(here[0], here[1]), (leave[0], leave[1])]))
        for t in (0, 0.25, 0.5, 0.75, 1) if cut > 0.5 else (0,):
            at = (1 - t) ** 2 * enter + 2 * t * (1 - t) * here + t**2 * leave
            points.append((at[0], at[1]))
    return _steps(marks) + "z", shapely.Polygon(points)


def outline(shape: shapely.Geometry) -> str:
    """The outer rings of a shape as one path; slivers are left out."""
    rings = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon" and part.area > 3:
            ring_ = shapely.get_coordinates(part.simplify(0.5).exterior)[:-1]
            marks = [("l" if k else "M", [(x, y)]) for k, (x, y) in enumerate(ring_)]
            rings.append(_steps(marks) + "z")
    return "".join(rings)


def _steps(marks: list[tuple[str, list[tuple[float, float]]]]) -> str:
    """Path text on the grid: relative steps, so that it stays short."""
    text, here = [], (0.0, 0.0)
    for command, points in marks:
        on_grid = [(round(x * GRID) / GRID, round(y * GRID) / GRID) for x, y in points]
        base = (0.0, 0.0) if command == "M" else here
        numbers = [(x - base[0], y - base[1]) for x, y in on_grid]
        here = on_grid[-1]
        if command == "l" and numbers == [(0.0, 0.0)]:
            continue
        text.append(command + _joined([v for pair in numbers for v in pair]))
    return "".join(text)


def _joined(values: list[float]) -> str:
    out = ""
    for value in values:
        word = _number(value)
        out += word if not out or word.startswith("-") else f" {word}"
    return out


def _number(value: float) -> str:
    word = f"{value:g}"
    return word.replace("0.", ".", 1) if word.startswith(("0.", "-0.")) else word
