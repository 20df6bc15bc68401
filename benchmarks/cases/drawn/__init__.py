"""Benchmark drawings, by a pen of our own: change the numbers here, not the SVG."""

from __future__ import annotations

from benchmarks.cases.drawn.bus import harbour_bus
from benchmarks.cases.drawn.figures import signaller, winch_operator
from benchmarks.cases.drawn.road import fire_tender, generator_van
from benchmarks.cases.drawn.water import salvage_tug
from benchmarks.cases.drawn.yard import fork_truck, straddle_carrier

__all__ = ["drawings"]


def drawings() -> dict[str, str]:
    """Where each drawing is kept, from benchmarks/cases, and its text."""
    vehicles = (
        fire_tender, fork_truck, generator_van, harbour_bus, salvage_tug, straddle_carrier
    )  # fmt: skip
    figures = (signaller, winch_operator)
    return {f"vehicles/{draw.__name__}.svg": draw() for draw in vehicles} | {
        f"figures/{draw.__name__}.svg": draw() for draw in figures
    }
