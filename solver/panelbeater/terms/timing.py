"""When each piece moves."""

from __future__ import annotations

from dataclasses import dataclass

ACTIONS: tuple[str, ...] = ("rise", "crouch")
"""Ways of the body to get up: plainly, or over a low crouch with one hand down."""
LIMBS: tuple[str, ...] = ("arm_l", "arm_r", "leg_l", "leg_r", "head")
"""What may open by itself."""


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
class Schedule:
    """All moves, in the order of `Drawing.pieces`, and how sure we are."""

    moves: tuple[Move, ...]
    proof: str

    def turned_round(self, n_frames: int) -> Schedule:
        """The same moves with the last of `n_frames` frames first."""
        last = n_frames - 1
        moves = (Move(m.piece, last - m.end, last - m.start) for m in self.moves)
        return Schedule(tuple(moves), self.proof)


@dataclass(frozen=True, slots=True)
class Parting:
    """Two pieces that overlap in the drawing and on the robot, and part on the way if they
    leave at the right frames: only then can they change places unseen.
    """

    pieces: tuple[int, int]
    starts: tuple[tuple[int, int], ...]
    """First frames of both moves with which they part."""


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
    ease: str = "with-limb"
    """Spacing of the pieces' moves: with the limb, or a name of kinematics.ease.EASES."""
    action: str = "rise"
    """How the body gets up: one of ACTIONS."""
    reverse: bool = False
    """Plays from robot to vehicle; it is planned from vehicle to robot, with the rules of
    the way back, and turned round at the end."""
    only: tuple[str, ...] = ()
    """Limbs that open while all else stays the vehicle; empty for the whole body."""

    @property
    def first_hold(self) -> int:
        """Frames the vehicle stands still: a key needs about six, a last pose twelve."""
        return self._final_hold if self.reverse else self._key_hold

    @property
    def last_hold(self) -> int:
        """Frames the robot stands still: a key needs about six, a last pose twelve."""
        return self._key_hold if self.reverse else self._final_hold

    @property
    def moving(self) -> FrameSpan:
        """The frames in which anything may move, counted from the vehicle."""
        return FrameSpan(self.first_hold, self.n_frames - self.last_hold)

    def from_vehicle(self, frame: int) -> int:
        """A frame of the shot as it plays, counted from the vehicle, or the other way."""
        return self.n_frames - 1 - frame if self.reverse else frame

    def master(self, frame: float) -> float:
        """The master control at a frame as it plays: 0 is the vehicle, 1 the robot."""
        share = min(max(frame / max(self.n_frames - 1, 1), 0.0), 1.0)
        return 1.0 - share if self.reverse else share

    @property
    def _key_hold(self) -> int:
        return max(1, min(6, self.n_frames // 8))

    @property
    def _final_hold(self) -> int:
        return max(1, min(13, self.n_frames // 4))
