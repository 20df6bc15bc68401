"""The same shot cast anew: a piece elsewhere, hidden, at drawn size, in front, or cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from panelbeater.animation import Hidden, ShotPlan, animate
from panelbeater.assignment import offer_placements, options_for, sort_of
from panelbeater.drawing import cut_to_size
from panelbeater.errors import NoAssignmentError
from panelbeater.geometry.frames import map_shape, moved, polar, rigid
from panelbeater.geometry.stage import laid_outline
from panelbeater.stress import plain
from panelbeater.stress.retime import resampled
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.drawing import Drawing, Piece, Shape
from panelbeater.terms.figure import BONE_IDS, without_side
from panelbeater.terms.timing import ShotOptions


@dataclass(frozen=True, slots=True, eq=False)
class Cast:
    """What a plan is animated from: change it as often as you like, then plan once."""

    hidden: Hidden
    assignment: Assignment
    shot: ShotOptions

    @property
    def drawing(self) -> Drawing:
        """The pieces, those that were cut included."""
        return self.hidden.drawing

    def index(self, piece: str) -> int:
        """Place of a piece in the drawing and among the covers."""
        return [p.id for p in self.drawing.pieces].index(piece)


def cast_of(plan: ShotPlan) -> Cast:
    """What a plan was animated from."""
    rig, done = plan.rig, plan.assignment
    hidden = Hidden(rig.drawing, rig.figure, (rig.fold,), rig.ground, rig.poses, done.asked)
    return Cast(hidden, done, rig.shot)


def animated(cast: Cast) -> ShotPlan:
    """Unfold, schedule and route again; the fold is taken over."""
    return animate(cast.hidden, cast.hidden.folds[0], cast.assignment, cast.shot)


def retimed(cast: Cast, shot: ShotOptions) -> Cast:
    """Another length or ease; key poses keep their share of the moving part."""
    old, new = cast.shot.moving, shot.moving
    stretch = (new.stop - new.start) / (old.stop - old.start)
    poses = tuple(
        replace(pose, frame=new.start + round((pose.frame - old.start) * stretch))
        for pose in cast.hidden.poses
    )
    return Cast(replace(cast.hidden, poses=poses), cast.assignment, shot)


def other_places(plan: ShotPlan, piece: str) -> tuple[Cover, ...]:
    """The piece's best placement on each other region that it may go to, best region first.

    Best is the bare area it would cover there: area of the region nothing else covers. A
    region that is banned, or no habit of that sort of piece, is left out.
    """
    rig = plan.rig
    at = cast_of(plan).index(piece)
    own = rig.drawing.pieces[at]
    alone = replace(rig.drawing, pieces=(own,))
    options = options_for(plan.assignment.asked)
    try:
        pool = offer_placements(alone, rig.figure, ground=rig.ground, options=options)
    except NoAssignmentError:
        return ()
    worn = _outlines(plan, leave_out=at)
    usual = options.habits.get(sort_of(own), {})
    found: dict[str, Cover] = {}
    for place in pool.placements:
        bone = rig.figure.bones[place.region]
        if bone.id == plan.assignment.covers[at].region or place.stowed:
            continue
        if usual and usual.get(without_side(bone.id), 0.0) <= 0:
            continue
        mine = shapely.intersection(place.outline, bone.region)
        gain = float(shapely.difference(mine, worn).area) / rig.figure.silhouette.area
        if bone.id not in found or gain > found[bone.id].gain:
            found[bone.id] = Cover(
                piece, bone.id, place.stage_from_piece, place.scale, place.stretch, gain,
                "tried on another region",
            )  # fmt: skip
    return tuple(sorted(found.values(), key=lambda cover: -cover.gain))


def with_twin(plan: ShotPlan, cover: Cover) -> tuple[Cover, ...]:
    """The cover, with the piece's mirror partner on the other side; none if that has no
    place there.
    """
    partner = plan.rig.drawing.pieces[cast_of(plan).index(cover.piece)].mirror
    if partner is None:
        return (cover,)
    there = plain.other_side(cover.region)
    lies = plan.assignment.covers[cast_of(plan).index(partner)].region
    if lies == there:
        return (cover,)
    found = [c for c in other_places(plan, partner) if c.region == there]
    return (cover, found[0]) if found else ()


def stowed(plan: ShotPlan, piece: str) -> Cover:
    """The piece hidden behind the bone it lies on, as small as it may get."""
    at = cast_of(plan).index(piece)
    cover, allowed = plan.assignment.covers[at], plan.rig.drawing.pieces[at].allowance
    bone = next(bone for bone in plan.rig.figure.bones if bone.id == cover.region)
    place = np.diag([allowed.scale_min, allowed.scale_min, 1.0])
    place[:2, 2] = bone.body.centroid.x, bone.body.centroid.y
    return Cover(
        piece, cover.region, place, allowed.scale_min, 1.0, 0.0, "tried hidden",
        stowed=True,
    )  # fmt: skip


def relaid(cast: Cast, covers: Sequence[Cover]) -> Cast:
    """Some pieces laid elsewhere."""
    new = {cover.piece: cover for cover in covers}
    laid = tuple(new.get(c.piece, c) for c in cast.assignment.covers)
    done = replace(cast.assignment, covers=laid, proof="changed by hand")
    return replace(cast, assignment=done)


def at_drawn_size(cast: Cast, pieces: tuple[str, ...]) -> Cast:
    """Some pieces neither scaled nor stretched at the end."""
    drawn = {piece.id: piece for piece in cast.drawing.pieces}
    return relaid(
        cast,
        [
            _unscaled(cover, drawn[cover.piece], cast.hidden.ground)
            for cover in cast.assignment.covers
            if cover.piece in pieces
        ],
    )


def _unscaled(cover: Cover, piece: Piece, ground: float) -> Cover:
    place = np.array(cover.stage_from_piece)
    turn, _ = polar(place[:2, :2])
    place[:2, :2] = rigid(np.zeros(2), turn)[:2, :2]
    cover = replace(cover, stage_from_piece=place, scale=1.0, stretch=1.0)
    sunk = max(laid_outline(piece, cover).bounds[3] - ground, 0.0)  # a shoe that grew
    return replace(cover, stage_from_piece=moved(0.0, -sunk) @ place)


def in_front(plan: ShotPlan, piece: str) -> ShotPlan:
    """The plan with one piece drawn over all others, from the first frame to the last."""
    at = cast_of(plan).index(piece)
    depth = plan.rig.depth.astype(np.int64).copy()
    depth[:, at] = depth.max() + 1
    return resampled(plan, replace(plan.rig, depth=depth))


def covered_in_vehicle(plan: ShotPlan, piece: str) -> float:
    """Share of the piece that nearer pieces hide in the drawing, 0 to 1."""
    pieces = plan.rig.drawing.pieces
    own = pieces[cast_of(plan).index(piece)]
    over = shapely.union_all([p.outline for p in pieces if p.depth > own.depth])
    return float(shapely.intersection(own.outline, over).area / own.outline.area)


def cut_in_two(cast: Cast, piece: str) -> Cast | None:
    """One piece cut; each part stays put and rides the bone it lies on.

    None when no sound cut divides the piece, or all parts lie on one bone.
    """
    at, drawing = cast.index(piece), cast.drawing
    whole = drawing.pieces[at]
    alone = replace(drawing, pieces=(whole,), silhouette=whole.outline)
    area = whole.outline.area
    parts = cut_to_size(alone, largest_area=0.7 * area, longest=1e6, min_pieces=2).pieces
    covers = list(cast.assignment.covers)
    laid = tuple(_part_cover(cast, at, part) for part in parts)
    if len(parts) < 2 or len({cover.region for cover in laid}) < 2:
        return None
    pieces = [*drawing.pieces[:at], *parts, *drawing.pieces[at + 1 :]]
    covers[at : at + 1] = laid
    ranked = tuple(
        replace(p, depth=rank, mirror=None if p.mirror == piece else p.mirror)
        for rank, p in enumerate(pieces)
    )
    hidden = replace(cast.hidden, drawing=replace(drawing, pieces=ranked))
    # There are more covers than there were depths now: as drawn, then.
    done = replace(
        cast.assignment, covers=tuple(covers), depths=(), proof="changed by hand"
    )
    return Cast(hidden, done, cast.shot)


def _part_cover(cast: Cast, at: int, part: Piece) -> Cover:
    whole, cover = cast.drawing.pieces[at], cast.assignment.covers[at]
    centre, mine = whole.outline.centroid, part.outline.centroid
    from_drawing = cover.stage_from_piece @ moved(-centre.x, -centre.y)
    lies = map_shape(from_drawing, part.outline)
    shares = [
        shapely.intersection(lies, bone.region).area for bone in cast.hidden.figure.bones
    ]
    region = BONE_IDS[int(np.argmax(shares))] if max(shares) > 0 else cover.region
    place = from_drawing @ moved(mine.x, mine.y)
    return replace(cover, piece=part.id, region=region, stage_from_piece=place)


def _outlines(plan: ShotPlan, *, leave_out: int) -> Shape:
    laid = [
        laid_outline(piece, cover)
        for i, (cover, piece) in enumerate(
            zip(plan.assignment.covers, plan.rig.drawing.pieces, strict=True)
        )
        if i != leave_out and not cover.stowed
    ]
    return together(laid)


def together(shapes: Sequence[Shape]) -> Shape:
    """The area of all shapes as one outline."""
    joined = shapely.union_all(shapes)
    if not isinstance(joined, Polygon | MultiPolygon):
        raise TypeError(joined.geom_type)
    return joined
