"""The same shot cast anew: a piece elsewhere, hidden, at drawn size, in front, or cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from panelbeater.assignment import offer_placements, options_for, sort_of
from panelbeater.drawing import cut_to_size
from panelbeater.errors import NoAssignmentError
from panelbeater.geometry.frames import map_shape, moved, polar, rigid
from panelbeater.geometry.stage import laid_outline
from panelbeater.shot import Hidden, ShotPlan, animate
from panelbeater.stress import plain
from panelbeater.stress.retime import resampled
from panelbeater.terms.assignment import Cover
from panelbeater.terms.drawing import Drawing, Piece, Shape
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.timing import ShotOptions


def hidden(
    plan: ShotPlan, drawing: Drawing | None = None, shot: ShotOptions | None = None
) -> Hidden:
    """What the plan rests on before any cover was chosen.

    Key poses keep their share of the moving part when `shot` has another length.
    """
    rig = plan.rig
    old, new = rig.shot.moving, (shot or rig.shot).moving
    stretch = (new.stop - new.start) / (old.stop - old.start)
    poses = tuple(
        replace(pose, frame=new.start + round((pose.frame - old.start) * stretch))
        for pose in rig.poses
    )
    return Hidden(
        drawing or rig.drawing,
        rig.figure,
        (rig.fold,),
        rig.ground,
        poses,
        plan.assignment.asked,
    )


def animated(
    plan: ShotPlan,
    *,
    shot: ShotOptions | None = None,
    drawing: Drawing | None = None,
    covers: tuple[Cover, ...] | None = None,
) -> ShotPlan:
    """Unfold, schedule and route again; fold and untouched covers are taken over."""
    done = plan.assignment
    if covers is not None:
        # A piece that was cut leaves more covers than there were depths: as drawn, then.
        depths = done.depths if len(covers) == len(done.covers) else ()
        done = replace(done, covers=covers, depths=depths, proof="changed by hand")
    shot = shot or plan.rig.shot
    return animate(hidden(plan, drawing, shot), plan.rig.fold, done, shot)


def other_places(plan: ShotPlan, piece: str) -> tuple[Cover, ...]:
    """The piece's best placement on each other region that it may go to, best region first.

    Best is the bare area it would cover there: area of the region nothing else covers. A
    region that is banned, or no habit of that sort of piece, is left out.
    """
    rig = plan.rig
    at = _index(plan, piece)
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
        if usual and usual.get(plain.without_side(bone.id), 0.0) <= 0:
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
    partner = plan.rig.drawing.pieces[_index(plan, cover.piece)].mirror
    if partner is None:
        return (cover,)
    there = plain.other_side(cover.region)
    lies = plan.assignment.covers[_index(plan, partner)].region
    if lies == there:
        return (cover,)
    found = [c for c in other_places(plan, partner) if c.region == there]
    return (cover, found[0]) if found else ()


def stowed(plan: ShotPlan, piece: str) -> Cover:
    """The piece hidden behind the bone it lies on, as small as it may get."""
    at = _index(plan, piece)
    cover, allowed = plan.assignment.covers[at], plan.rig.drawing.pieces[at].allowance
    bone = next(bone for bone in plan.rig.figure.bones if bone.id == cover.region)
    place = np.diag([allowed.scale_min, allowed.scale_min, 1.0])
    place[:2, 2] = bone.body.centroid.x, bone.body.centroid.y
    return Cover(
        piece, cover.region, place, allowed.scale_min, 1.0, 0.0, "tried hidden",
        stowed=True,
    )  # fmt: skip


def relaid(plan: ShotPlan, covers: Sequence[Cover]) -> ShotPlan:
    """The plan with some pieces laid elsewhere."""
    new = {cover.piece: cover for cover in covers}
    return animated(plan, covers=tuple(new.get(c.piece, c) for c in plan.assignment.covers))


def at_drawn_size(plan: ShotPlan, pieces: tuple[str, ...]) -> ShotPlan:
    """The plan with some pieces neither scaled nor stretched at the end."""
    drawn = {piece.id: piece for piece in plan.rig.drawing.pieces}
    return relaid(
        plan,
        [
            _unscaled(cover, drawn[cover.piece], plan.rig.ground)
            for cover in plan.assignment.covers
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
    at = _index(plan, piece)
    depth = plan.rig.depth.astype(np.int64).copy()
    depth[:, at] = depth.max() + 1
    return resampled(plan, replace(plan.rig, depth=depth))


def covered_in_vehicle(plan: ShotPlan, piece: str) -> float:
    """Share of the piece that nearer pieces hide in the drawing, 0 to 1."""
    pieces = plan.rig.drawing.pieces
    own = pieces[_index(plan, piece)]
    over = shapely.union_all([p.outline for p in pieces if p.depth > own.depth])
    return float(shapely.intersection(own.outline, over).area / own.outline.area)


def cut_in_two(plan: ShotPlan, piece: str) -> ShotPlan | None:
    """The plan with one piece cut; each part stays put and rides the bone it lies on.

    None when no sound cut divides the piece, or all parts lie on one bone.
    """
    at = _index(plan, piece)
    drawing = plan.rig.drawing
    whole = drawing.pieces[at]
    alone = replace(drawing, pieces=(whole,), silhouette=whole.outline)
    area = whole.outline.area
    parts = cut_to_size(alone, largest_area=0.7 * area, longest=1e6, min_pieces=2).pieces
    covers = list(plan.assignment.covers)
    laid = tuple(_part_cover(plan, at, part) for part in parts)
    if len(parts) < 2 or len({cover.region for cover in laid}) < 2:
        return None
    pieces = [*drawing.pieces[:at], *parts, *drawing.pieces[at + 1 :]]
    covers[at : at + 1] = laid
    ranked = tuple(
        replace(p, depth=rank, mirror=None if p.mirror == piece else p.mirror)
        for rank, p in enumerate(pieces)
    )
    cut = replace(drawing, pieces=ranked)
    return animated(plan, drawing=cut, covers=tuple(covers))


def _part_cover(plan: ShotPlan, at: int, part: Piece) -> Cover:
    whole, cover = plan.rig.drawing.pieces[at], plan.assignment.covers[at]
    centre, mine = whole.outline.centroid, part.outline.centroid
    from_drawing = cover.stage_from_piece @ moved(-centre.x, -centre.y)
    lies = map_shape(from_drawing, part.outline)
    shares = [
        shapely.intersection(lies, bone.region).area for bone in plan.rig.figure.bones
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


def _index(plan: ShotPlan, piece: str) -> int:
    return [p.id for p in plan.rig.drawing.pieces].index(piece)
