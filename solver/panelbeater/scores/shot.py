"""The finished shot as the judge sees it: what stands in every frame, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from panelbeater.terms.drawing import Shape

ROUNDING = 1e-7
"""Share of the figure's height below which two corners are one."""


@dataclass(frozen=True, slots=True, eq=False)
class RegionShape:
    """One part of the standing figure, in the last frame's pose."""

    id: str
    controller: str
    outline: Shape


@dataclass(frozen=True, slots=True, eq=False)
class InputPiece:
    """One piece as it was handed in, where it stands in the vehicle."""

    id: str
    kind: str
    signature: bool
    mirror: str | None
    outline: Shape
    redrawn: Shape | None = None
    """Its drawing on the robot at drawn size, where it has one."""


@dataclass(frozen=True, slots=True, eq=False)
class BoneShape:
    """One bone's bare body shape at one moment."""

    id: str
    controller: str
    outline: Shape


@dataclass(frozen=True, slots=True, eq=False)
class DrawnPiece:
    """One piece at one moment."""

    id: str
    bone: str
    region: str | None
    depth: int
    """Larger is nearer the viewer."""
    scale: float
    """Ratio of the drawn size, as the file states it."""
    visible: bool
    outline: Shape
    is_redrawn: bool = False
    """True while it shows its robot drawing."""


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """One moment of the shot."""

    frame: float
    """Frame number from 0; k + 0.5 for the moments between."""
    master: float
    bones: tuple[BoneShape, ...]
    pieces: tuple[DrawnPiece, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """A whole `frames.ndjson`: drawing units, stage frame, y down."""

    fps: float
    ground: float
    """y of the ground line."""
    vehicle: Shape
    figure: Shape
    regions: tuple[RegionShape, ...]
    pieces: tuple[InputPiece, ...]
    frames: tuple[Frame, ...]
    reverse: bool = False
    """The frames lead from the robot to the vehicle."""
    only: tuple[str, ...] = ()
    """Controllers that open while all else stays the vehicle; empty for all of them."""

    @property
    def from_vehicle(self) -> Shot:
        """The same frames, those nearer the vehicle first; they keep their numbers."""
        return replace(self, frames=self.frames[::-1]) if self.reverse else self


def same_ends(one: Shot, other: Shot) -> bool:
    """True when two shots show the same figure and pieces, and begin and end alike."""
    mine, theirs = _outlines(one), _outlines(other)
    ways = (one.reverse, one.only) == (other.reverse, other.only)
    if not ways or _said(one) != _said(other) or len(mine) != len(theirs):
        return False
    _, top, _, bottom = one.figure.bounds
    return bool(np.all(shapely.equals_exact(mine, theirs, ROUNDING * (bottom - top))))


def _said(shot: Shot) -> list[tuple[object, ...]]:
    """What is stated of regions, pieces, and the things in both end frames."""
    ends = (shot.frames[0], shot.frames[-1])
    return [
        *((r.id, r.controller) for r in shot.regions),
        *((p.id, p.kind, p.signature, p.mirror) for p in shot.pieces),
        *((b.id, b.controller) for frame in ends for b in frame.bones),
        *(
            (p.id, p.bone, p.region, p.depth, round(p.scale, 6), p.visible)
            for frame in ends
            for p in frame.pieces
        ),
    ]


def _outlines(shot: Shot) -> list[Shape]:
    ends = (shot.frames[0], shot.frames[-1])
    return [
        shot.vehicle,
        shot.figure,
        *(region.outline for region in shot.regions),
        *(piece.outline for piece in shot.pieces),
        *(bone.outline for frame in ends for bone in frame.bones),
        *(piece.outline for frame in ends for piece in frame.pieces),
    ]
