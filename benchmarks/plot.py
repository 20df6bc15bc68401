"""Lines on logarithmic axes as a small SVG, without a plotting library."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

Curves = tuple[list[float], dict[str, list[float]]]
"""Sizes, and the seconds of every stage at each of them."""
WIDE, TALL, LEFT, TOP, GAP = 260, 230, 46, 34, 50
INK, FAINT = "#1f262b", "#dcd7c9"
COLOURS = ("#1f262b", "#d1495b", "#00798c", "#edae49", "#66a182", "#7a5195", "#8b8577")


def draw_growth(series: Mapping[str, Curves], path: Path) -> None:
    """One panel a series, seconds upwards; `all` or `ours` is the heavy line. Beside each
    name stands the fitted exponent.
    """
    spent = [max(one) for _, stages in series.values() for one in stages.values() if one]
    most = max(spent, default=1.0)
    ends = (0.1, 10 ** math.ceil(math.log10(max(most, 1))))
    panels = [
        _panel(name, *curves, ends, LEFT + k * (WIDE + GAP))
        for k, (name, curves) in enumerate(series.items())
    ]
    wide = LEFT + len(series) * (WIDE + GAP)
    path.write_text(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {TALL + 125}" '
        f'width="{wide}" font-family="sans-serif" font-size="11" fill="{INK}">'
        f'<rect width="100%" height="100%" fill="#f6f4ee"/>{"".join(panels)}</svg>\n',
        encoding="utf-8",
    )


def fitted(counts: Sequence[float], seconds: Sequence[float]) -> float:
    """Exponent of a power law through the larger half of the sizes."""
    half = len(counts) // 2 if len(counts) > 3 else 0
    slope = np.polyfit(np.log(counts[half:]), np.log(np.maximum(seconds[half:], 1e-3)), 1)
    return float(slope[0])


def _panel(
    name: str,
    counts: Sequence[float],
    stages: Mapping[str, Sequence[float]],
    ends: tuple[float, float],
    left: float,
) -> str:
    def x(count: float) -> float:
        span = math.log(counts[-1] / counts[0]) or 1.0
        return left + WIDE * math.log(count / counts[0]) / span

    def y(seconds: float) -> float:
        share = math.log(max(seconds, ends[0]) / ends[0]) / math.log(ends[1] / ends[0])
        return TOP + TALL * (1 - share)

    out = [
        f'<text x="{left}" y="20" font-size="13">seconds by {name}, and exponents</text>'
    ]
    at = ends[0]
    while at <= ends[1] * 1.001:
        out.append(f'<path stroke="{FAINT}" d="M{left} {y(at):.1f}h{WIDE}"/>')
        out.append(
            f'<text x="{left - 6}" y="{y(at) + 4:.1f}" text-anchor="end">{at:g}</text>'
        )
        at *= 10
    for count in counts:
        out.append(
            f'<text x="{x(count):.1f}" y="{TOP + TALL + 16}" text-anchor="middle">'
            f"{count:g}</text>"
        )
    heaviest = sorted(stages, key=lambda stage: -max(stages[stage], default=0))[:6]
    for k, stage in enumerate(heaviest):
        dots = " ".join(
            f"{x(c):.1f},{y(s):.1f}" for c, s in zip(counts, stages[stage], strict=True)
        )
        heavy = 3 if stage in ("all", "ours") else 1.6
        out.append(
            f'<polyline fill="none" stroke="{COLOURS[k]}" stroke-width="{heavy}" '
            f'points="{dots}"/>'
        )
        out.append(
            _legend(k, f"{stage} {round(fitted(counts, stages[stage]), 1) + 0:.1f}", left)
        )
    return "".join(out)


def _legend(k: int, words: str, left: float) -> str:
    across, down = left + (k % 2) * 158, TOP + TALL + 38 + (k // 2) * 18
    return (
        f'<path stroke="{COLOURS[k]}" stroke-width="3" d="M{across} {down - 4}h14"/>'
        f'<text x="{across + 18}" y="{down}">{words}</text>'
    )
