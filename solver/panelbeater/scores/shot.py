"""The finished shot as the judge sees it: what stands in every frame, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass

from panelbeater.terms.drawing import Shape


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
