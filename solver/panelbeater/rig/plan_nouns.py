"""What plan.json holds, noun by noun: the published schema is made from these."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    SerializerFunctionWrapHandler,
    model_serializer,
)

from panelbeater.terms.drawing import Kind
from panelbeater.terms.figure import Controller


class _Noun(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


class RedrawingNoun(_Noun):
    """The robot drawing of a piece; its centroid lies on the piece's."""

    outline: str
    artwork: str
    colour: str


class PieceNoun(_Noun):
    """A piece as drawn; outlines are OGC well-known text in drawing units, y down."""

    id: str
    kind: Kind
    outline: str
    depth: int
    artwork: str
    colour: str
    signature: bool
    mirror: str | None
    cut_from: str | None
    allowance: dict[str, float]
    pin: str | None
    bans: list[str]
    stow: bool = False
    redrawn: RedrawingNoun | None = None


class BoneNoun(_Noun):
    """A bone of the standing figure."""

    id: str
    controller: Controller
    parent: str | None
    start: list[float]
    end: list[float]
    region: str
    body: str


class PoseNoun(_Noun):
    """Arrays as nested lists: root (..., 2), turns (..., n_bones), scales (..., n_bones,
    2).
    """

    root: list[Any]
    turns: list[Any]
    scales: list[Any]


class KeyPoseNoun(_Noun):
    """A pose of the animator's that the action passes through: its frame counts from the
    vehicle; bones left out, and a root of none, follow the action.
    """

    name: str
    frame: int
    root: list[float] | None
    turns: dict[str, float]
    scales: dict[str, tuple[float, float]]


class FoldNoun(_Noun):
    """The first pose."""

    pose: PoseNoun
    leak: float
    shortest: float
    thinnest: float


class BendNoun(_Noun):
    """An axis through the piece's centroid that becomes an arc: its direction in radians,
    turn and widening a drawing unit.
    """

    axis: float
    curvature: float
    taper: float


class TrackNoun(_Noun):
    """One piece on its bone: u = ease((m F - start) / (end - start)); keys are
    x, y, turn, sxx, sxy, syy. It bends from the first to the second frame of `bending`,
    shows its robot drawing from frame `swap` on, and nothing from frame `vanish` on.
    """

    piece: str
    bone: str
    start: int
    end: int
    key_u: list[float]
    key_channels: list[list[float]]
    bend: BendNoun | None = None
    bending: tuple[int, int] = (0, 1)
    swap: int | None = None
    vanish: int | None = None


class CoverNoun(_Noun):
    """One piece on one region in the last frame; stage_from_piece is row by row."""

    piece: str
    region: str
    stage_from_piece: list[list[float]]
    scale: float
    stretch: float
    gain: float
    reason: str
    bend: BendNoun | None = None
    stowed: bool = False


class AskedNoun(_Noun):
    """What was asked of the layout: least cover by region; by sort of piece, the regions it
    belongs on and what each is worth; by piece, what it goes round on the way.
    """

    cover: dict[str, float] = {}
    habits: dict[str, dict[str, float]] = {}
    clear: dict[str, list[str]] = {}

    @model_serializer(mode="wrap")
    def _without_what_nobody_asked(self, dump: SerializerFunctionWrapHandler) -> Any:
        values = dump(self)
        return values if self.clear else {k: v for k, v in values.items() if k != "clear"}


class AssignmentNoun(_Noun):
    """All covers with the bounds that were proven: over the pool of candidates, and over
    all placements of the search raster.
    """

    covers: list[CoverNoun]
    value: float
    bound: float
    proof: str
    n_candidates: int
    asked: AskedNoun = AskedNoun()
    raster_bound: float | None = None
    n_raster: int = 0


class PlanNoun(_Noun):
    """The whole file."""

    format: Literal["panelbeater-plan"]
    version: int
    shot: dict[str, Any]
    ground: float
    pieces: list[PieceNoun]
    silhouette: str
    defs: str
    sources: list[str]
    warnings: list[str]
    figure_silhouette: str
    bones: list[BoneNoun]
    fold: FoldNoun
    action: PoseNoun
    tracks: list[TrackNoun]
    depth: list[list[int]]
    assignment: AssignmentNoun
    poses: list[KeyPoseNoun] = []
