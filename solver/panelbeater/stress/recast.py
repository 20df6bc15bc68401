"""The same shot cast anew: a piece on another limb, at drawn size, in front, or cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from panelbeater.assignment import offer_placements
from panelbeater.drawing import cut_to_size
from panelbeater.errors import NoAssignmentError
from panelbeater.geometry.frames import map_shape, moved, polar, rigid
from panelbeater.shot import Hidden, ShotPlan, animate
from panelbeater.stress.retime import resampled
from panelbeater.terms.assignment import Cover
from panelbeater.terms.drawing import Drawing, Piece, Shape
from panelbeater.terms.figure import BONE_IDS, BONE_TREE
from panelbeater.terms.timing import ShotOptions

_LIMB = {name: controller for name, _, controller in BONE_TREE}


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


def other_limbs(plan: ShotPlan, piece: str, n_best: int = 2) -> tuple[Cover, ...]:
    """The piece's best placement on each of the best other limbs.

    Best is the bare area it would cover there: area of the region nothing else covers.
    """
    rig = plan.rig
    at = _index(plan, piece)
    alone = replace(rig.drawing, pieces=(rig.drawing.pieces[at],))
    try:
        pool = offer_placements(alone, rig.figure, ground=rig.ground)
    except NoAssignmentError:
        return ()
    worn = _outlines(plan, leave_out=at)
    here = _LIMB[plan.assignment.covers[at].region]
    found: dict[str, tuple[float, Cover]] = {}
    for place in pool.placements:
        bone = rig.figure.bones[place.region]
        if bone.controller == here:
            continue
        own = shapely.intersection(place.outline, bone.region)
        gain = float(shapely.difference(own, worn).area) / rig.figure.silhouette.area
        if gain > found.get(bone.controller, (-1.0,))[0]:
            cover = Cover(
                piece, bone.id, place.stage_from_piece, place.scale, place.stretch, gain,
                "tried on another limb",
            )  # fmt: skip
            found[bone.controller] = (gain, cover)
    best = sorted(found.values(), key=lambda pair: -pair[0])
    return tuple(cover for _, cover in best[:n_best])


def on_limb(plan: ShotPlan, cover: Cover) -> ShotPlan:
    """The plan with one piece laid elsewhere."""
    covers = list(plan.assignment.covers)
    covers[_index(plan, cover.piece)] = cover
    return animated(plan, covers=tuple(covers))


def at_drawn_size(plan: ShotPlan, pieces: tuple[str, ...]) -> ShotPlan:
    """The plan with some pieces neither scaled nor stretched at the end."""
    covers = tuple(
        _unscaled(cover) if cover.piece in pieces else cover
        for cover in plan.assignment.covers
    )
    return animated(plan, covers=covers)


def _unscaled(cover: Cover) -> Cover:
    place = np.array(cover.stage_from_piece)
    turn, _ = polar(place[:2, :2])
    place[:2, :2] = rigid(np.zeros(2), turn)[:2, :2]
    return replace(cover, stage_from_piece=place, scale=1.0, stretch=1.0)


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
        map_shape(c.stage_from_piece @ moved(-m.x, -m.y), p.outline)
        for i, (c, p) in enumerate(
            zip(plan.assignment.covers, plan.rig.drawing.pieces, strict=True)
        )
        if i != leave_out
        for m in [p.outline.centroid]
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
