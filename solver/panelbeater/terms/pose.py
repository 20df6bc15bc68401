"""Poses of the body: one moment, or one per frame."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from panelbeater.terms.arrays import Points, Scales, Turns
from panelbeater.terms.timing import FrameSpan


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """All bones at one moment, or at many when the arrays carry leading axes."""

    root: Points
    """(..., 2), stage position of the waist's start joint."""
    turns: Turns
    """(..., n_bones), radians from the parent bone (the root: from the x axis)."""
    scales: Scales
    """(..., n_bones, 2), foreshortening along and across each bone; 1 is as drawn."""


@dataclass(frozen=True, slots=True, eq=False)
class KeyPose:
    """The body at one frame; what a pose leaves out follows the default action."""

    name: str
    """What the animator calls it, for messages."""
    frame: int
    """Whole frame from 0."""
    root: Points | None
    """(2,), stage position of the waist's start joint."""
    turns: Mapping[str, float]
    """Radians from the standing turn of the bone, by bone id."""
    scales: Mapping[str, tuple[float, float]]
    """Foreshortening along and across, by bone id."""


@dataclass(frozen=True, slots=True, eq=False)
class Fold:
    """A pose that hides inside the vehicle silhouette, and how sure we are."""

    pose: Pose
    leak: float
    """area(body outside the vehicle) / area(body), exact."""
    shortest: float
    """Smallest length scale used (1 = no foreshortening)."""
    thinnest: float
    """Smallest width scale used."""


@dataclass(frozen=True, slots=True, eq=False)
class Action:
    """The body's default action, frame by frame, and when each bone moves of its own."""

    pose: Pose
    """Leading axis n_frames."""
    spans: tuple[FrameSpan, ...]
    """(n_bones,): from the first to the last frame in which the bone turns on its parent.
    """
