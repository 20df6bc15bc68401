"""The time between two moments, and what they and the way in between exclude.

Two shapes d1 and d2 apart at its ends, that move against each other by no more than w, are
from (d1 + d2 - w) / 2 to (d1 + d2 + w) / 2 apart at every moment of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from panelbeater.scores.arrays import Flags
from panelbeater.scores.between.moment import Moment
from panelbeater.scores.overlay import shared
from panelbeater.terms.arrays import Floats, Ints


@dataclass(frozen=True, slots=True, eq=False)
class Span:
    """A span within one frame; `way` is a row of `Motion.travel`: (n_shapes, n_views)."""

    start: Moment
    stop: Moment
    checks: tuple[str, ...]
    """What is not settled in it yet."""
    held: Flags
    """(n_pieces,), known to hang together with the body through all of it."""

    @property
    def frame(self) -> int:
        """The whole frame it belongs to."""
        return self.start.frame

    def tied(self, way: Floats) -> Flags:
        """(n_pieces,), what hangs on by pairs that hold together all through the span."""
        view, n = self.start.view, len(way)
        mine, theirs = self.start.contacts, self.stop.contacts
        _, a, b = np.intersect1d(
            mine[0] * n + mine[1], theirs[0] * n + theirs[1],
            assume_unique=True, return_indices=True,
        )  # fmt: skip
        one, other = mine[0][a], mine[1][a]
        gap = mine[2][a] + theirs[2][b] + _against(way, one, other)
        sure = gap <= 2 * view.reach(other)
        out = view.visible.copy()
        out[view.loose(self.held, one[sure], other[sure])] = False
        return out

    def is_held(self, _: Floats) -> bool:
        """True when nothing can float."""
        return not (self.start.view.visible & ~self.held).any()

    def is_above(self, way: Floats) -> bool:
        """True when nothing can sink into the ground."""
        view = self.start.view
        lowest = self.start.lowest + self.stop.lowest + way[view.shown, -1]
        return bool((lowest <= 2 * view.allowed.floor).all())

    def is_planted(self, way: Floats) -> bool:
        """True when no planted foot can slide."""
        view = self.start.view
        return all(
            sole.slid(self.start.shapes) + sole.slid(self.stop.shapes) + way[sole.shape, -1]
            <= 2 * view.allowed.slide
            for sole in view.soles
        )

    def is_apart(self, way: Floats) -> bool:
        """True when no two pieces at one depth can overlap by more than is allowed."""
        view, before, after = self.start.view, self.start.shapes, self.stop.shapes
        one, other = view.level_pairs
        gap = shapely.distance(before[one], before[other])
        gap = gap + shapely.distance(after[one], after[other])
        against = _against(way, one, other)
        # Neighbours that touch share no area worth speaking of while they hardly move: an
        # outline that goes w sweeps at most its length times w, and a disc of that radius.
        length = np.minimum(shapely.length(before[one]), shapely.length(before[other]))
        area = shapely.area(shared(before[one], before[other]))
        area = area + length * against + np.pi * against**2
        return bool(((gap > against) | (area <= view.allowed.clash_area)).all())


def _against(way: Floats, one: Ints, other: Ints) -> Floats:
    """How far pairs of shapes can move against each other at most."""
    out: Floats = (way[one] + way[other]).min(axis=-1, initial=np.inf)
    return out
