"""One moment of a motion: what touches what in it, and what is wrong."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from panelbeater.scores.arrays import Flags, Shapes
from panelbeater.scores.between.motion import Allowed
from panelbeater.scores.overlay import shared
from panelbeater.terms.arrays import Floats, Ints

Fault = tuple[tuple[int, ...], str]
"""Shapes at fault, and what is wrong with them."""


@dataclass(frozen=True, slots=True, eq=False)
class Sole:
    """The spots a planted foot stands on."""

    shape: int
    spots: Ints
    """(n_spots,), which points of its outline."""
    planted: Floats
    """(n_spots,), x where they were planted."""

    def slid(self, shapes: Shapes) -> float:
        """How far the spot that strayed most is off along the ground."""
        now = shapely.get_coordinates(shapes[self.shape])[self.spots, 0]
        return float(np.abs(now - self.planted).max())


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """What is alike from one whole frame until the next."""

    visible: Flags
    """(n_pieces,)"""
    depth: Ints
    """(n_pieces,)"""
    n_bones: int
    allowed: Allowed
    soles: tuple[Sole, ...] = ()
    """Of feet that stand planted from this frame to the next."""

    @property
    def n_pieces(self) -> int:
        """Shapes before the bones."""
        return len(self.visible)

    @property
    def shown(self) -> Ints:
        """Shapes that count: visible pieces, and all bones."""
        bones = np.arange(self.n_pieces, self.n_pieces + self.n_bones)
        return np.concatenate([np.flatnonzero(self.visible), bones])

    @property
    def level_pairs(self) -> tuple[Ints, Ints]:
        """Visible pieces at one depth, pair by pair."""
        shown = np.flatnonzero(self.visible)
        same = np.triu(self.depth[shown][:, None] == self.depth[shown][None], k=1)
        one, other = np.nonzero(same)
        return shown[one], shown[other]

    def reach(self, other: Ints) -> Floats:
        """Largest gap at which a piece holds on to each of some shapes."""
        allowed = self.allowed
        out: Floats = np.where(
            other < self.n_pieces, allowed.piece_contact, allowed.body_contact
        )
        return out

    def loose(self, held: Flags, one: Ints, other: Ints) -> Ints:
        """Visible pieces that no chain of these contacts ties to a bone or to `held`."""
        tied = np.concatenate([held, np.ones(self.n_bones, dtype=np.bool_)])
        while (differ := tied[one] != tied[other]).any():
            tied[one[differ]] = tied[other[differ]] = True
        return np.flatnonzero(self.visible & ~tied[: self.n_pieces])


@dataclass(frozen=True, eq=False)
class Moment:
    """All shapes at one time of one frame."""

    time: float
    frame: int
    """The whole frame it belongs to; `time` may be that of the next one."""
    shapes: Shapes
    view: View
    held: Flags
    """(n_pieces,), known to hang together with the body all round this moment."""

    @cached_property
    def contacts(self) -> tuple[Ints, Ints, Floats]:
        """Pairs of shapes that hold together here, a piece first, and their gaps: for each
        piece enough of them to tell whether it floats. At whole frames gaps are measured
        only for what is not held by what it overlaps. Moments in between are looked at
        where that leaves a doubt: there all gaps are measured, because a piece may go from
        one neighbour to another that it hardly touches.
        """
        view = self.view
        asked = np.flatnonzero(view.visible & ~self.held)
        tree = shapely.STRtree(self.shapes[view.shown])
        one, other = tree.query(self.shapes[asked], predicate="intersects")
        pairs = np.stack([asked[one], view.shown[other]])
        loose = asked if self.time % 1 else view.loose(self.held, *pairs)
        reach = max(view.allowed.body_contact, view.allowed.piece_contact)
        one, other = tree.query(self.shapes[loose], predicate="dwithin", distance=reach)
        pairs = np.concatenate([pairs, [loose[one], view.shown[other]]], axis=1)
        pairs = np.unique(np.sort(pairs[:, pairs[0] != pairs[1]], axis=0), axis=1)
        gap = np.zeros(pairs.shape[1])
        apart = np.isin(pairs, loose).any(axis=0)
        gap[apart] = shapely.distance(*self.shapes[pairs[:, apart]])
        near = gap <= view.reach(pairs[1])
        return pairs[0][near], pairs[1][near], gap[near]

    @cached_property
    def lowest(self) -> Floats:
        """(n_shown,), largest y of each shape that counts."""
        out: Floats = shapely.bounds(self.shapes[self.view.shown])[:, 3]
        return out

    def floats(self) -> tuple[Fault, ...]:
        """Pieces that hang on nothing."""
        one, other, _ = self.contacts
        loose = self.view.loose(self.held, one, other)
        return ((tuple(loose.tolist()), "floats free of the body"),) if len(loose) else ()

    def sinks(self) -> tuple[Fault, ...]:
        """What reaches below the ground line."""
        deep = self.lowest - self.view.allowed.floor
        return tuple(
            ((int(self.view.shown[i]),), f"{deep[i]:.3g} units lower than allowed")
            for i in np.flatnonzero(deep > 0)
        )

    def slides(self) -> tuple[Fault, ...]:
        """Planted feet that stray along the ground."""
        far = [(sole.shape, sole.slid(self.shapes)) for sole in self.view.soles]
        return tuple(
            ((shape,), f"has slid {slid:.3g} units since it was planted")
            for shape, slid in far
            if slid > self.view.allowed.slide
        )

    def clashes(self) -> tuple[Fault, ...]:
        """Pieces that pass through each other at one depth."""
        one, other = self.view.level_pairs
        area = shapely.area(shared(self.shapes[one], self.shapes[other]))
        return tuple(
            ((int(one[i]), int(other[i])), f"overlap by {area[i]:.3g} at one depth")
            for i in np.flatnonzero(area > self.view.allowed.clash_area)
        )
