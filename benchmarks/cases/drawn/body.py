"""Limbs, hands and feet that the figures share, drawn along their bones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from benchmarks.cases.drawn.pen import (
    METAL,
    ORANGE,
    YELLOW,
    Corner,
    Tone,
    disc,
    flat,
    line,
    panel,
    piece,
    ring,
)

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Joints:
    """Joints of the own left side, x from the middle line, and the heights of the trunk."""

    middle: float
    crown: float
    neck: float
    waist: float
    crotch: float
    shoulder: Place
    elbow: Place
    wrist: Place
    fingers: Place
    hip: Place
    knee: Place
    ankle: Place
    toes: Place

    def at(self, side: int, place: Corner) -> Corner:
        """A corner of the own left (1) or right (-1) side on the sheet."""
        return (self.middle + side * place[0], *place[1:])


def standing(legs: Sequence[str], trunk: Sequence[str], arms: Sequence[str]) -> list[str]:
    """The regions in the order they are painted."""
    return ['<g id="regions">', *legs, *trunk, *arms, "</g>"]


def limb(
    body: Joints,
    side: int,
    start: Place,
    end: Place,
    widths: tuple[float, float, float],
    tone: Tone,
) -> str:
    """A panel along a bone: as wide as said at its start, its belly and its end."""
    a, b = np.array(start), np.array(end)
    along = (b - a) / np.hypot(*(b - a))
    across = np.array([-along[1], along[0]])
    marks = [
        (a - along * widths[0] * 0.18, widths[0]),
        (a * 0.62 + b * 0.38, widths[1]),
        (b + along * 8, widths[2]),
    ]
    left = [tuple(at - across * wide / 2) for at, wide in marks]
    right = [tuple(at + across * wide / 2) for at, wide in reversed(marks)]
    corners = [body.at(side, (float(x), float(y))) for x, y in left + right]
    return panel(corners, tone, radius=widths[0] * 0.22, shade=6)


def patch(body: Joints, side: int, corners: Sequence[Corner], fill: str) -> str:
    """A plate on a limb, inked."""
    return flat([body.at(side, corner) for corner in corners], fill, radius=7, inked=True)


def band(
    body: Joints, side: int, start: Place, end: Place, share: float, wide: float, fill: str
) -> str:
    """A bright band across a limb."""
    a, b = np.array(start), np.array(end)
    along = (b - a) / np.hypot(*(b - a))
    across = np.array([-along[1], along[0]]) * (wide / 2 - 2.5)
    middle = a + (b - a) * share
    corners = [
        middle - across - along * 7, middle + across - along * 7,
        middle + across + along * 7, middle - across + along * 7,
    ]  # fmt: skip
    return flat([body.at(side, (float(x), float(y))) for x, y in corners], fill)


def knee(body: Joints, side: int, tone: Tone) -> str:
    """A knee cap."""
    x, y = body.knee
    corners: list[Corner] = [
        (x - 24, y - 16, 10), (x + 24, y - 16, 10), (x + 28, y + 10), (x + 14, y + 30, 8),
        (x - 14, y + 30, 8), (x - 28, y + 10),
    ]  # fmt: skip
    return panel([body.at(side, corner) for corner in corners], tone, radius=6, shade=4)


def drum(x: float, y: float) -> str:
    """A winch drum with rope on it."""
    return (
        disc(x, y, 34, METAL.base, inked=True)
        + ring(x, y, 26, YELLOW.dark, 6, dashes="5 3")
        + ring(x, y, 18, YELLOW.dark, 5, dashes="5 3")
        + disc(x, y, 10, ORANGE.base, inked=True)
    )


def foot(body: Joints, side: int, mark: str, tone: Tone, cap: Tone, *, wide: float) -> str:
    """A boot with a cap."""
    x, y = body.ankle
    sole = body.toes[1]
    inner, outer = x - wide * 0.42, x + wide * 0.58
    shoe: list[Corner] = [
        (inner + 14, y - 6), (outer - 24, y - 6), (outer, sole - 30, 16), (outer + 2, sole),
        (inner - 2, sole), (inner, sole - 30, 16),
    ]  # fmt: skip
    tip: list[Corner] = [
        (inner + 12, sole - 34), (outer - 10, sole - 34), (outer - 4, sole - 14),
        (inner + 6, sole - 14),
    ]  # fmt: skip
    return piece(
        f"foot_{mark}",
        panel([body.at(side, corner) for corner in shoe], tone, radius=6),
        flat([body.at(side, corner) for corner in tip], cap.base, radius=8, inked=True),
        line([body.at(side, (inner + 4, sole - 7))[:2], body.at(side, (outer - 4, sole - 7))[:2]],
             tone.light, 3),
    )  # fmt: skip


def hand(body: Joints, side: int, mark: str, tone: Tone, *, size: float) -> str:
    """A gloved hand with the thumb towards the body."""
    x, y = body.wrist
    k = size
    palm: list[Corner] = [
        (x - 20 * k, y + 2), (x + 22 * k, y - 2), (x + 32 * k, y + 44 * k, 10),
        (x + 24 * k, y + 78 * k, 12), (x - 8 * k, y + 82 * k, 12), (x - 18 * k, y + 58 * k),
        (x - 34 * k, y + 62 * k, 9), (x - 40 * k, y + 42 * k, 9), (x - 26 * k, y + 18 * k, 8),
    ]  # fmt: skip
    fingers = [((x + at * k, y + 52 * k), (x + (at - 1) * k, y + 72 * k)) for at in (1, 13)]
    cuff: list[Corner] = [
        (x - 24 * k, y - 4), (x + 25 * k, y - 8), (x + 27 * k, y + 14), (x - 22 * k, y + 18)
    ]  # fmt: skip
    return piece(
        f"hand_{mark}",
        panel([body.at(side, corner) for corner in palm], tone, radius=8),
        *(
            line([body.at(side, a)[:2], body.at(side, b)[:2]], tone.dark, 4)
            for a, b in fingers
        ),
        flat([body.at(side, corner) for corner in cuff], tone.dark, radius=5, inked=True),
    )


def bones(body: Joints) -> str:
    """The bones as named lines, not shown."""
    limbs = {
        "upper_arm": (body.shoulder, body.elbow), "forearm": (body.elbow, body.wrist),
        "hand": (body.wrist, body.fingers), "thigh": (body.hip, body.knee),
        "shank": (body.knee, body.ankle), "foot": (body.ankle, body.toes),
    }  # fmt: skip
    trunk = {
        "waist": ((0.0, body.hip[1]), (0.0, body.waist)),
        "torso": ((0.0, body.waist), (0.0, body.neck)),
        "head": ((0.0, body.neck), (0.0, body.crown)),
    }
    named = {name: (1, *ends) for name, ends in trunk.items()}
    for mark, side in (("l", 1), ("r", -1)):
        named |= {f"{name}_{mark}": (side, *ends) for name, ends in limbs.items()}
    lines = []
    for name, (side, start, end) in named.items():
        (x1, y1), (x2, y2) = body.at(side, start)[:2], body.at(side, end)[:2]
        lines.append(
            f'<line id="bone_{name}" x1="{x1:g}" y1="{y1:g}" x2="{x2:g}" y2="{y2:g}"/>'
        )
    return '<g id="bones" stroke="#d81b60" display="none">\n' + "\n".join(lines) + "\n</g>"
