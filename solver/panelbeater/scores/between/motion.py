"""What the certificate must be told: the motion between frames, and what is promised."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from panelbeater.scores.arrays import Flags
from panelbeater.terms.arrays import Floats, Ints
from panelbeater.terms.drawing import Shape


class Motion(Protocol):
    """A motion that can be looked at anywhere; pieces come first, bones after them."""

    def shapes(self, times: Floats, frames: Ints) -> Sequence[Sequence[Shape]]:
        """Outlines at (n_times,) moments, as drawn in the whole frame each belongs to."""

    def visible(self) -> Flags:
        """(n_frames, n_pieces), from each whole frame until the next."""

    def depth(self) -> Ints:
        """(n_frames, n_pieces), from each whole frame until the next."""

    def travel(self, start: Floats, stop: Floats) -> Floats:
        """(n_spans, n_shapes, n_views), longest way of any point of each shape between two
        moments of one frame, as seen from each of some rigid frames of reference, of which
        the last is the stage; infinite where it is not known.
        """


@dataclass(frozen=True, slots=True)
class Allowed:
    """What is promised, in drawing units."""

    body_contact: float
    """Largest gap between a piece and a bone that carries it."""
    piece_contact: float
    """Largest gap between two pieces that hold together."""
    floor: float
    """Largest y anything may reach."""
    clash_area: float
    """Largest overlap of two pieces at one depth."""
    pop: float
    """Largest overlap in plain sight over which two pieces may change their order, share of
    the smaller one."""
    slide: float
    """How far along the ground any spot of a planted sole may stray."""
    sole: float
    """What of a foot lies no higher than this over its lowest point is its sole."""


@dataclass(frozen=True, slots=True)
class Stance:
    """A foot stands planted from one whole frame to another, both included."""

    bone: int
    """Place among the bones of the motion, whose outline keeps its points."""
    start: int
    stop: int
