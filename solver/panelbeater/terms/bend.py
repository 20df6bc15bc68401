"""How one piece may change its shape on the way: its straight axis becomes an arc."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Bend:
    """The straight axis through the drawn centroid becomes an arc.

    Acts in the piece frame (drawn centroid at 0, 0), before the placement. What lies across
    the axis stays straight and at right angles to the arc, so a plain bend keeps lengths
    along the axis, distances from it, and the area.
    """

    axis: float = 0.0
    """Direction of the axis, radians from x towards y."""
    curvature: float = 0.0
    """Turn of the axis over its length, radians a drawing unit; positive bends both ends
    towards the side a quarter turn (x towards y) from the axis."""
    taper: float = 0.0
    """Widening along the axis, share a drawing unit: distances from the axis grow by
    1 + taper * (way along the axis)."""
