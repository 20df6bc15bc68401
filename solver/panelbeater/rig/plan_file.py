"""plan.json: the one artefact everything else derives from, and its published schema."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from pydantic import ValidationError

from panelbeater.errors import DrawingError
from panelbeater.rig.plan_nouns import (
    AssignmentNoun,
    BoneNoun,
    CoverNoun,
    FoldNoun,
    PieceNoun,
    PlanNoun,
    PoseNoun,
    TrackNoun,
)
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.drawing import Allowance, Drawing, Piece, Shape, Wishes
from panelbeater.terms.figure import BONE_IDS, Bone, Figure
from panelbeater.terms.pose import Fold, Pose
from panelbeater.terms.rig import Rig, Track
from panelbeater.terms.timing import ShotOptions

VERSION = 1


def plan_schema() -> dict[str, Any]:
    """JSON schema of plan.json."""
    return PlanNoun.model_json_schema()


def plan_to_json(rig: Rig, assignment: Assignment) -> dict[str, Any]:
    """The rig and the assignment as plain JSON values; nothing is rounded."""
    noun = PlanNoun(
        format="panelbeater-plan",
        version=VERSION,
        shot={name: getattr(rig.shot, name) for name in ShotOptions.__dataclass_fields__},
        ground=rig.ground,
        pieces=[_piece_noun(piece) for piece in rig.drawing.pieces],
        silhouette=_wkt(rig.drawing.silhouette),
        defs=rig.drawing.defs,
        sources=[rig.drawing.source, rig.figure.source],
        warnings=[*rig.drawing.warnings, *rig.figure.warnings],
        figure_silhouette=_wkt(rig.figure.silhouette),
        bones=[_bone_noun(bone) for bone in rig.figure.bones],
        fold=FoldNoun(
            pose=_pose_noun(rig.fold.pose),
            leak=rig.fold.leak,
            shortest=rig.fold.shortest,
            thinnest=rig.fold.thinnest,
        ),
        action=_pose_noun(rig.action),
        tracks=[_track_noun(track) for track in rig.tracks],
        depth=rig.depth.tolist(),
        assignment=AssignmentNoun(
            covers=[_cover_noun(cover) for cover in assignment.covers],
            value=assignment.value,
            bound=assignment.bound,
            proof=assignment.proof,
            n_candidates=assignment.n_candidates,
        ),
    )
    return noun.model_dump()


def plan_from_json(values: Any, *, name: str = "plan.json") -> tuple[Rig, Assignment]:
    """The rig and the assignment back from a file of this version or the one before.

    Raises DrawingError with one line when the file is not such a plan.
    """
    version = values.get("version") if isinstance(values, dict) else None
    if not isinstance(version, int) or not VERSION - 1 <= version <= VERSION:
        raise DrawingError(
            f"{name}: version {version!r} of plan.json; this reader takes {VERSION}"
        )
    try:
        noun = PlanNoun.model_validate(values)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        raise DrawingError(
            f"{name}: {place}: {first['msg']}; plan again to rewrite it"
        ) from None
    drawing = Drawing(
        tuple(_piece(p) for p in noun.pieces), _shape(noun.silhouette), noun.defs,
        noun.sources[0], tuple(noun.warnings),
    )  # fmt: skip
    bones = tuple(
        Bone(
            b.id,
            b.controller,
            b.parent,
            np.array(b.start),
            np.array(b.end),
            _shape(b.region),
            _shape(b.body),
        )
        for b in noun.bones
    )
    if tuple(bone.id for bone in bones) != BONE_IDS:
        raise DrawingError(
            f"{name}: the bones must be {', '.join(BONE_IDS)}, in this order"
        )
    figure = Figure(_shape(noun.figure_silhouette), bones, noun.sources[1])
    fold = Fold(
        _pose(noun.fold.pose), noun.fold.leak, noun.fold.shortest, noun.fold.thinnest
    )
    tracks = tuple(
        Track(t.piece, t.bone, t.start, t.end, np.array(t.key_u), np.array(t.key_channels))
        for t in noun.tracks
    )
    covers = tuple(
        Cover(
            c.piece,
            c.region,
            np.array(c.stage_from_piece),
            c.scale,
            c.stretch,
            c.gain,
            c.reason,
        )
        for c in noun.assignment.covers
    )
    done = noun.assignment
    assignment = Assignment(covers, done.value, done.bound, done.proof, done.n_candidates)
    rig = Rig(drawing, figure, fold, _pose(noun.action), tracks, np.array(noun.depth),
              noun.ground, ShotOptions(**noun.shot))  # fmt: skip
    return rig, assignment


def _wkt(shape: Shape) -> str:
    # Seventeen decimals: the "shortest" setting rounds outlines that sit on a precision
    # grid.
    return str(shapely.to_wkt(shape, rounding_precision=17))


def _shape(text: str) -> Shape:
    shape = shapely.from_wkt(text)
    if not isinstance(shape, shapely.Polygon | shapely.MultiPolygon):
        raise DrawingError(
            f"plan.json: an outline must be a polygon, not {shape.geom_type}"
        )
    return shape


def _pose_noun(pose: Pose) -> PoseNoun:
    return PoseNoun(
        root=pose.root.tolist(), turns=pose.turns.tolist(), scales=pose.scales.tolist()
    )


def _pose(noun: PoseNoun) -> Pose:
    return Pose(np.array(noun.root), np.array(noun.turns), np.array(noun.scales))


def _piece_noun(piece: Piece) -> PieceNoun:
    allowed = piece.allowance
    return PieceNoun(
        id=piece.id, kind=piece.kind, outline=_wkt(piece.outline), depth=piece.depth,
        artwork=piece.artwork, colour=piece.colour, signature=piece.signature,
        mirror=piece.mirror, cut_from=piece.cut_from,
        allowance={name: getattr(allowed, name) for name in Allowance.__dataclass_fields__},
        pin=piece.wishes.pin, bans=list(piece.wishes.bans),
    )  # fmt: skip


def _piece(noun: PieceNoun) -> Piece:
    return Piece(
        noun.id, noun.kind, _shape(noun.outline), noun.depth, noun.artwork, noun.colour,
        noun.signature, noun.mirror, noun.cut_from, Allowance(**noun.allowance),
        Wishes(noun.pin, tuple(noun.bans)),
    )  # fmt: skip


def _bone_noun(bone: Bone) -> BoneNoun:
    return BoneNoun(
        id=bone.id, controller=bone.controller, parent=bone.parent,
        start=np.asarray(bone.start).tolist(), end=np.asarray(bone.end).tolist(),
        region=_wkt(bone.region), body=_wkt(bone.body),
    )  # fmt: skip


def _track_noun(track: Track) -> TrackNoun:
    return TrackNoun(
        piece=track.piece, bone=track.bone, start=track.start, end=track.end,
        key_u=track.key_u.tolist(), key_channels=track.key_channels.tolist(),
    )  # fmt: skip


def _cover_noun(cover: Cover) -> CoverNoun:
    return CoverNoun(
        piece=cover.piece,
        region=cover.region,
        stage_from_piece=cover.stage_from_piece.tolist(),
        scale=cover.scale,
        stretch=cover.stretch,
        gain=cover.gain,
        reason=cover.reason,
    )
