"""plan.json: the one artefact everything else derives from, and its published schema."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

from panelbeater.rig.plan_nouns import (
    AskedNoun,
    AssignmentNoun,
    BendNoun,
    BoneNoun,
    CoverNoun,
    FoldNoun,
    KeyPoseNoun,
    PieceNoun,
    PlanNoun,
    PoseNoun,
    RedrawingNoun,
    TrackNoun,
)
from panelbeater.rig.plan_versions import VERSION
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.bend import Bend
from panelbeater.terms.drawing import Allowance, Piece, Redrawing, Shape
from panelbeater.terms.figure import Bone
from panelbeater.terms.pose import KeyPose, Pose
from panelbeater.terms.rig import Rig, Track
from panelbeater.terms.timing import ShotOptions


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
            asked=AskedNoun(
                cover=dict(assignment.asked.cover),
                habits={k: dict(v) for k, v in assignment.asked.habits.items()},
                clear={k: list(v) for k, v in assignment.asked.clear.items()},
            ),
            raster_bound=assignment.raster_bound,
            n_raster=assignment.n_raster,
        ),
        poses=[_key_pose_noun(pose) for pose in rig.poses],
    )
    return noun.model_dump()


def _wkt(shape: Shape) -> str:
    # Seventeen decimals: the "shortest" setting rounds outlines that sit on a precision
    # grid.
    return str(shapely.to_wkt(shape, rounding_precision=17))


def _pose_noun(pose: Pose) -> PoseNoun:
    return PoseNoun(
        root=pose.root.tolist(), turns=pose.turns.tolist(), scales=pose.scales.tolist()
    )


def _key_pose_noun(pose: KeyPose) -> KeyPoseNoun:
    return KeyPoseNoun(
        name=pose.name,
        frame=pose.frame,
        root=None if pose.root is None else np.asarray(pose.root).tolist(),
        turns=dict(pose.turns),
        scales=dict(pose.scales),
    )


def _piece_noun(piece: Piece) -> PieceNoun:
    allowed = piece.allowance
    return PieceNoun(
        id=piece.id, kind=piece.kind, outline=_wkt(piece.outline), depth=piece.depth,
        artwork=piece.artwork, colour=piece.colour, signature=piece.signature,
        mirror=piece.mirror, cut_from=piece.cut_from,
        allowance={name: getattr(allowed, name) for name in Allowance.__dataclass_fields__},
        pin=piece.wishes.pin, bans=list(piece.wishes.bans), stow=piece.wishes.stow,
        redrawn=None if piece.redrawn is None else _redrawing_noun(piece.redrawn),
    )  # fmt: skip


def _redrawing_noun(redrawn: Redrawing) -> RedrawingNoun:
    return RedrawingNoun(
        outline=_wkt(redrawn.outline), artwork=redrawn.artwork, colour=redrawn.colour
    )


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
        bend=_bend_noun(track.bend), bending=(track.bending.start, track.bending.stop),
        swap=track.swap, vanish=track.vanish,
    )  # fmt: skip


def _bend_noun(bend: Bend | None) -> BendNoun | None:
    if bend is None:
        return None
    return BendNoun(axis=bend.axis, curvature=bend.curvature, taper=bend.taper)


def _cover_noun(cover: Cover) -> CoverNoun:
    return CoverNoun(
        piece=cover.piece,
        region=cover.region,
        stage_from_piece=cover.stage_from_piece.tolist(),
        scale=cover.scale,
        stretch=cover.stretch,
        gain=cover.gain,
        reason=cover.reason,
        bend=_bend_noun(cover.bend),
        stowed=cover.stowed,
    )
