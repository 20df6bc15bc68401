"""Reads plan.json back into a rig, or says in one line why it cannot."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from pydantic import TypeAdapter, ValidationError

from panelbeater.errors import DrawingError
from panelbeater.rig.plan_nouns import (
    BendNoun,
    BoneNoun,
    KeyPoseNoun,
    PieceNoun,
    PlanNoun,
    PoseNoun,
    RedrawingNoun,
    TrackNoun,
)
from panelbeater.rig.plan_versions import brought_up
from panelbeater.terms.arrays import Floats
from panelbeater.terms.assignment import Asked, Assignment, Cover
from panelbeater.terms.bend import Bend
from panelbeater.terms.drawing import (
    Allowance,
    Drawing,
    Piece,
    Redrawing,
    Shape,
    Wishes,
)
from panelbeater.terms.figure import BONE_IDS, Bone, Figure
from panelbeater.terms.pose import Fold, KeyPose, Pose
from panelbeater.terms.rig import Rig, Track
from panelbeater.terms.timing import FrameSpan, ShotOptions

_LARGEST = 1e7
"""Drawings reach to 1e6 units."""
_LONGEST = 300
_LONGEST_SHOT = 10_000
"""Frames."""


def plan_from_json(values: Any, *, name: str = "plan.json") -> tuple[Rig, Assignment]:
    """The rig and the assignment back from a file of this version or an earlier one.

    Raises DrawingError with one line when the file is not such a plan.
    """
    plan = brought_up(values, name=name)
    try:
        noun = PlanNoun.model_validate(plan)
        rig, assignment = _rig(noun), _assignment(noun)
    except ValidationError as error:
        first = error.errors()[0]
        words = ".".join(str(part) for part in first["loc"])[:_LONGEST]
        place = "".join(c if c.isprintable() else " " for c in words)
        raise DrawingError(
            f"{name}: {place}: {first['msg']}; plan again to rewrite it"
        ) from None
    except (
        shapely.GEOSException, TypeError, ValueError, LookupError, ArithmeticError,
        RecursionError,
    ) as error:  # fmt: skip
        reason = (str(error) or type(error).__name__).splitlines()[0][:_LONGEST]
        raise DrawingError(f"{name}: {reason}; plan again to rewrite it") from None
    return rig, assignment


def _rig(noun: PlanNoun) -> Rig:
    shot = TypeAdapter(ShotOptions).validate_python(noun.shot)
    if not 1 <= shot.n_frames <= _LONGEST_SHOT or not 1 <= shot.fps <= 1000:
        raise ValueError(f"a shot of {shot.n_frames} frames at {shot.fps} a second")
    if not 1 <= shot.exposure <= shot.n_frames:
        raise ValueError(f"an exposure of {shot.exposure} frames")
    pieces = tuple(_piece(p) for p in noun.pieces)
    vehicle, figure_source = noun.sources
    drawing = Drawing(
        pieces, _shape(noun.silhouette), noun.defs, vehicle, tuple(noun.warnings)
    )
    bones = tuple(_bone(b) for b in noun.bones)
    if tuple(bone.id for bone in bones) != BONE_IDS:
        raise ValueError(f"the bones must be {', '.join(BONE_IDS)}, in this order")
    figure = Figure(_shape(noun.figure_silhouette), bones, figure_source)
    fold = Fold(
        _pose(noun.fold.pose, ()), noun.fold.leak, noun.fold.shortest, noun.fold.thinnest
    )
    tracks = tuple(_track(t) for t in noun.tracks)
    if [track.piece for track in tracks] != [piece.id for piece in pieces]:
        raise ValueError("every piece needs one track, in the order of the pieces")
    astray = [track.bone for track in tracks if track.bone not in BONE_IDS]
    if astray:
        raise ValueError(f"no bone {astray[0]!r} to ride")
    _check_tracks(tracks, pieces)
    depth = _array(noun.depth, (shot.n_frames, len(pieces))).astype(np.int64)
    action = _pose(noun.action, (shot.n_frames,))
    poses = tuple(_key_pose(p, shot.n_frames) for p in noun.poses)
    return Rig(drawing, figure, fold, action, tracks, depth, noun.ground, shot, poses)


def _track(t: TrackNoun) -> Track:
    n_keys = len(t.key_u)
    return Track(
        t.piece, t.bone, t.start, t.end, _array(t.key_u, (n_keys,)),
        _array(t.key_channels, (n_keys, 6)), _bend(t.bend), FrameSpan(*t.bending),
        t.swap, t.vanish,
    )  # fmt: skip


def _bend(noun: BendNoun | None) -> Bend | None:
    if noun is None:
        return None
    axis, curvature, taper = _array([noun.axis, noun.curvature, noun.taper], (3,)).tolist()
    return Bend(axis, curvature, taper)


def _check_tracks(tracks: tuple[Track, ...], pieces: tuple[Piece, ...]) -> None:
    if not tracks:
        raise ValueError("there are no pieces")
    if len({track.piece for track in tracks}) < len(tracks):
        raise ValueError("two pieces have one id")
    for track in tracks:
        u = track.key_u
        if not 0 <= track.start < track.end <= _LONGEST_SHOT:
            raise ValueError(f"{track.piece} moves from {track.start} to {track.end}")
        if len(u) < 2 or u[0] != 0 or u[-1] != 1 or not (np.diff(u) > 0).all():
            raise ValueError(f"the keys of {track.piece} do not rise from 0 to 1")
        span = track.bending
        if not 0 <= span.start < span.stop <= _LONGEST_SHOT:
            raise ValueError(f"{track.piece} bends from {span.start} to {span.stop}")
    single = {piece.id for piece in pieces if piece.redrawn is None}
    astray = [track.piece for track in tracks if track.swap is not None]
    if single.intersection(astray):
        raise ValueError(f"{min(single.intersection(astray))} has no drawing to swap to")


def _assignment(noun: PlanNoun) -> Assignment:
    covers = tuple(
        Cover(c.piece, c.region, _array(c.stage_from_piece, (3, 3)), c.scale, c.stretch,
              c.gain, c.reason, _bend(c.bend), c.stowed)
        for c in noun.assignment.covers
    )  # fmt: skip
    done = noun.assignment
    clear = {piece: tuple(others) for piece, others in done.asked.clear.items()}
    return Assignment(
        covers, done.value, done.bound, done.proof, done.n_candidates, done.raster_bound,
        done.n_raster, _stacking(noun),
        Asked(done.asked.cover, done.asked.habits, clear),
    )  # fmt: skip


def _stacking(noun: PlanNoun) -> tuple[int, ...]:
    """The depths of the last frame, counted from 0."""
    last = np.array(noun.depth[-1]) if noun.depth else np.zeros(0)
    if len(last) != len(noun.assignment.covers):
        return ()
    return tuple(np.argsort(np.argsort(last, kind="stable"), kind="stable").tolist())


def _array(values: Any, shape: tuple[int, ...]) -> Floats:
    """Finite numbers of exactly this shape."""
    array = np.array(values, dtype=np.float64)
    if array.shape != shape:
        raise ValueError(f"expected numbers of shape {shape}, found {array.shape}")
    if not (np.abs(array) <= _LARGEST).all():
        raise ValueError(f"a number is not finite or beyond {_LARGEST:g}")
    return array


def _shape(text: str) -> Shape:
    kind = text.lstrip().partition("(")[0].strip()[:40]
    # Collections can nest until the reader's stack ends: only outlines go in.
    with np.errstate(all="ignore"):  # numbers too large to hold are told below
        shape = shapely.from_wkt(text) if kind in ("POLYGON", "MULTIPOLYGON") else None
    if not isinstance(shape, shapely.Polygon | shapely.MultiPolygon):
        raise ValueError(f"an outline must be a polygon, not {kind!r}")
    if not (np.abs(shapely.get_coordinates(shape)) <= _LARGEST).all():
        raise ValueError(f"an outline is not finite or reaches beyond {_LARGEST:g}")
    if not shape.area > 0:
        raise ValueError("an outline has no area")
    return shape


def _pose(noun: PoseNoun, leading: tuple[int, ...]) -> Pose:
    n_bones = len(BONE_IDS)
    return Pose(
        _array(noun.root, (*leading, 2)),
        _array(noun.turns, (*leading, n_bones)),
        _array(noun.scales, (*leading, n_bones, 2)),
    )


def _key_pose(p: KeyPoseNoun, n_frames: int) -> KeyPose:
    astray = sorted({*p.turns, *p.scales} - set(BONE_IDS))
    if astray or not 0 <= p.frame < n_frames:
        what = f"no bone {astray[0]!r}" if astray else f"no frame {p.frame}"
        raise ValueError(f"a key pose names {what}")
    _array([*p.turns.values()], (len(p.turns),))
    _array([*p.scales.values()] or np.zeros((0, 2)), (len(p.scales), 2))
    root = None if p.root is None else _array(p.root, (2,))
    return KeyPose(p.name, p.frame, root, p.turns, p.scales)


def _bone(b: BoneNoun) -> Bone:
    start, end = _array(b.start, (2,)), _array(b.end, (2,))
    return Bone(b.id, b.controller, b.parent, start, end, _shape(b.region), _shape(b.body))


def _piece(noun: PieceNoun) -> Piece:
    return Piece(
        noun.id, noun.kind, _shape(noun.outline), noun.depth, noun.artwork, noun.colour,
        noun.signature, noun.mirror, noun.cut_from, Allowance(**noun.allowance),
        Wishes(noun.pin, tuple(noun.bans), noun.stow), _redrawing(noun.redrawn),
    )  # fmt: skip


def _redrawing(noun: RedrawingNoun | None) -> Redrawing | None:
    if noun is None:
        return None
    return Redrawing(_shape(noun.outline), noun.artwork, noun.colour)
