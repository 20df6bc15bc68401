"""The finished rig: what every export, score and picture samples."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from panelbeater.terms.arrays import Flags, Floats, Ints
from panelbeater.terms.bend import Bend
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Fold, KeyPose, Pose
from panelbeater.terms.timing import FrameSpan, ShotOptions


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """How one piece rides its bone: blend(u) as keys, u = ease((m F' - start) / (end -
    start)).

    Between keys the seven channels are joined by straight lines.
    """

    piece: str
    bone: str
    start: int
    end: int
    key_u: Floats
    """(n_keys,), rising from 0 to 1."""
    key_channels: Floats
    """(n_keys, 6): x, y of the piece pivot in the bone frame (drawing units), turn
    (radians), and the symmetric stretch sxx, sxy, syy; linear part = rotation(turn) @
    stretch.
    """
    bend: Bend | None = None
    """End shape, in the piece frame before the blend."""
    bending: FrameSpan = field(default=FrameSpan(0, 1))
    """It is straight up to the first of these frames and fully bent at `stop`."""
    swap: int | None = None
    """First frame that shows its robot drawing; None when it has only one."""
    vanish: int | None = None
    """First frame that does not show it; None when it stays in view."""


@dataclass(frozen=True, slots=True, eq=False)
class Rig:
    """Drawing, figure and body action with one track per piece; sampled by `rig.sample`."""

    drawing: Drawing
    figure: Figure
    """Placed on the stage: drawing units of the vehicle, feet on the ground line."""
    fold: Fold
    action: Pose
    """Default body action, leading axis n_frames."""
    tracks: tuple[Track, ...]
    """In the order of `Drawing.pieces`."""
    depth: Ints
    """(n_frames, n_pieces), unique within a frame, larger is nearer the viewer."""
    ground: float
    """y of the ground line."""
    shot: ShotOptions
    poses: tuple[KeyPose, ...] = ()
    """Key poses the action was led through; their frames count from the vehicle."""


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """The rig at some moments."""

    stage_from_bone: Floats
    """(n_times, n_bones, 3, 3), rigid: origin at the bone's start, x along the bone."""
    bone_scales: Floats
    """(n_times, n_bones, 2)"""
    stage_from_piece: Floats
    """(n_times, n_pieces, 3, 3); the piece frame has the drawn centroid at 0, 0."""
    bent: Floats
    """(n_times, n_pieces), share of its bend each piece has reached; 0 is as drawn."""
    redrawn: Flags
    """(n_times, n_pieces), True where the robot drawing is shown."""
    visible: Flags
    """(n_times, n_pieces), False where the piece has vanished."""

    def at(self, rows: Any) -> Sample:
        """Some of the moments, by index, slice or mask."""
        return Sample(**{name: getattr(self, name)[rows] for name in self.__slots__})


@dataclass(frozen=True, slots=True)
class Refused:
    """A piece that should lie over another on the robot, for more of the vehicle to show,
    and cannot.
    """

    over: str
    under: str
    frame: int
    """From this frame until the robot stands they overlap, counted from the vehicle."""

    def words(self, shot: ShotOptions) -> str:
        """What is refused, why and what would help; frames as the shot plays, from 1."""
        if self.frame:
            span = "up to" if shot.reverse else "from"
            at = f"{span} frame {shot.from_vehicle(self.frame) + 1}"
            why = f"they overlap {at}, and what lies between them fixes their order"
        else:
            why = "they overlap in every frame and would change places in plain sight"
        return (
            f"{self.over} should lie over {self.under} on the robot, but {why}; "
            "pin one of them to another region, or let it vanish (stow)"
        )


@dataclass(frozen=True, slots=True)
class Stacking:
    """What was proven of the order of the pieces, and which wishes had to go."""

    proof: str
    refused: tuple[Refused, ...] = ()

    def lines(self, shot: ShotOptions) -> list[str]:
        """The first refused wish in full, and how many more there are."""
        if not self.refused:
            return []
        more = len(self.refused) - 1
        rest = f" ({more} more in scores.json)" if more else ""
        return [f"stack: {self.refused[0].words(shot)}{rest}"]

    def to_json(self, shot: ShotOptions) -> dict[str, Any]:
        """Plain values for scores.json."""
        refused = [
            {"over": one.over, "under": one.under, "frame": shot.from_vehicle(one.frame),
             "words": one.words(shot)}
            for one in self.refused
        ]  # fmt: skip
        return {"stacking": self.proof, "refused": refused}


READ = Stacking("read from plan.json")
