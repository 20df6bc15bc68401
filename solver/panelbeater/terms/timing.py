"""When each piece moves."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FrameSpan:
    """Half-open span of whole frames from 0; shown to people from 1 with both ends."""

    start: int
    stop: int

    def __str__(self) -> str:
        return f"{self.start + 1}-{max(self.stop, self.start + 1)}"


@dataclass(frozen=True, slots=True)
class Move:
    """One piece's move: u goes 0 to 1 from frame `start` to frame `end`."""

    piece: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Waiting:
    """What carries pieces that have not left the vehicle yet."""

    held: tuple[int, ...]
    """Last frame up to which a bone carries each piece where it waits; -1 for never."""
    touching: tuple[tuple[int, int], ...]
    """Pairs of pieces that touch in the vehicle, the lower index first."""


@dataclass(frozen=True, slots=True)
class Schedule:
    """All moves, in the order of `Drawing.pieces`, and how sure we are."""

    moves: tuple[Move, ...]
    proof: str


@dataclass(frozen=True, slots=True)
class ShotOptions:
    """The shot the animator asked for."""

    n_frames: int = 72
    fps: int = 24
    exposure: int = 1
    """Frames each drawing is held: 1 on ones, 2 on twos."""
    seed: int = 1
    budget: float = 1.0
    """Solver effort, deterministic units; 1 suits a first look, more squeezes further."""
    title: str = "untitled"
    ease: str = "minimum-jerk"
    """Spacing of the pieces' moves: a name of kinematics.ease.EASES."""

    @property
    def first_hold(self) -> int:
        """Frames the vehicle stands still before anything moves: a key needs about six."""
        return max(1, min(6, self.n_frames // 8))

    @property
    def last_hold(self) -> int:
        """Frames the robot stands still at the end: a final pose needs at least twelve."""
        return max(1, min(13, self.n_frames // 4))

    @property
    def moving(self) -> FrameSpan:
        """The frames in which anything may move."""
        return FrameSpan(self.first_hold, self.n_frames - self.last_hold)
