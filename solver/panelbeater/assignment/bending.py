"""Bends and tapers panels of a settled layout along the limbs they dress."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from panelbeater.assignment.candidates import HAIR
from panelbeater.assignment.likeness import ALIKE, likeness
from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.bending import bend_points, fine_outline, local_stretch
from panelbeater.geometry.frames import map_shape, moved, rigid
from panelbeater.geometry.overlay import joined, shared_areas, without
from panelbeater.geometry.stage import laid_outline
from panelbeater.terms.arrays import Affines, Floats, Points
from panelbeater.terms.assignment import Cover
from panelbeater.terms.bend import Bend
from panelbeater.terms.drawing import Piece, Shape
from panelbeater.terms.figure import Bone, Figure

BENT = "; bent along its limb to cover more of it"
"""What a bend adds to a cover's reason."""


@dataclass(frozen=True, slots=True)
class BendOptions:
    """When a bend is worth having; prices are shares of the area they speak of."""

    least: float = 0.003
    """Own-region cover won less spill, share of the figure, below which a panel stays flat:
    a twentieth of a limb; less is not seen (by eye on six cases)."""
    spill_price: float = 0.6
    """Per area outside the figure, as in the choice."""
    span_price: float = 0.15
    """Per area on other regions, as in the choice."""
    bend_price: float = 0.04
    """Per unit of ln distortion and own area, as a stretch costs."""
    keep_scale: float = 0.05
    """A piece within this of its drawn size that is known again stays so."""
    first_step: float = 0.5
    """First stride, share of the largest bend."""
    n_halvings: int = 4


def flat(cover: Cover) -> Cover:
    """The cover as it was before it was bent, save where it lies."""
    return replace(cover, bend=None, reason=cover.reason.removesuffix(BENT))


@dataclass(frozen=True, slots=True, eq=False)
class _Panel:
    """One piece while its neighbours lie still."""

    points: Points
    """Corners of the fine outline, piece frame."""
    outline: Shape
    axis: float
    most: Floats
    """(2,), curvature and taper at which its edge is stretched as far as is allowed."""
    place: Affines
    bare: BaseGeometry
    own: BaseGeometry
    silhouette: BaseGeometry
    bone: Bone
    piece: Piece
    reach: float
    ground: float
    is_kept: bool
    options: BendOptions


def bend_covers(
    pieces: Sequence[Piece],
    figure: Figure,
    covers: Sequence[Cover],
    ground: float,
    *,
    options: BendOptions | None = None,
    effort: Effort = QUIET,
    movable: Collection[int] | None = None,
) -> tuple[Cover, ...]:
    """The same layout with panels bent wherever that clearly covers more of their region.

    Wheels, lamps, signature pieces and what is stowed or bent already stay as they are.
    Each panel is tried in turn, largest first, against the others as they lie then; exact
    areas decide, so no panel is worth less than before.

    movable : the pieces to try; all of them when left out.
    """
    options = options or BendOptions()
    which = range(len(covers)) if movable is None else movable
    done = list(covers)
    laid = [laid_outline(p, c) for p, c in zip(pieces, covers, strict=True)]
    bones = {bone.id: bone for bone in figure.bones}
    for i in sorted(which, key=lambda i: (-laid[i].area, i)):
        piece, cover = pieces[i], done[i]
        if effort.is_stopped or not _may_bend(piece, cover):
            continue
        others = [
            laid[k]
            for k, other in enumerate(done)
            if k != i and other.region == cover.region and not other.stowed
        ]
        panel = _panel(piece, cover, bones[cover.region], figure, others, ground, options)
        found = _best(panel)
        if found is not None:
            bend, place = found
            bent = replace(
                cover, bend=bend, stage_from_piece=place, reason=cover.reason + BENT
            )
            laid[i] = laid_outline(piece, bent)
            won = float(shared_areas(laid[i], panel.bare))
            done[i] = replace(bent, gain=won / figure.silhouette.area)
    return tuple(done)


def _may_bend(piece: Piece, cover: Cover) -> bool:
    is_free = not piece.signature and not cover.stowed and cover.bend is None
    return is_free and piece.kind not in ("wheel", "lamp") and piece.allowance.bend_max > 1


def _panel(
    piece: Piece,
    cover: Cover,
    bone: Bone,
    figure: Figure,
    others: Sequence[Shape],
    ground: float,
    options: BendOptions,
) -> _Panel:
    centre = piece.outline.centroid
    outline = map_shape(moved(-centre.x, -centre.y), piece.worn)
    box = shapely.get_coordinates(shapely.oriented_envelope(outline))
    sides = np.diff(box[:3], axis=0)
    along = sides[int(np.argmax(np.hypot(*sides.T)))]
    axis = float(np.arctan2(along[1], along[0]) % np.pi)
    xy = shapely.get_coordinates(outline) @ rigid(np.zeros(2), np.array(axis))[:2, :2]
    reach = np.abs(xy).max(axis=0)  # along and across the axis
    # A plain bend squeezes its inner edge to 1 - curvature * reach: 1 / bend_max at most.
    most = (1 - 1 / piece.allowance.bend_max) / np.array([reach[1], reach[0]])
    fine = fine_outline(Bend(axis, float(most[0])), outline)
    flat = map_shape(cover.stage_from_piece, fine)
    is_sized = abs(cover.scale - 1) <= options.keep_scale + HAIR
    region = bone.region
    return _Panel(
        shapely.get_coordinates(fine), fine, axis, most, cover.stage_from_piece,
        without(region, joined(list(others))) if others else region, region,
        figure.silhouette, bone, piece, float(reach.max()), ground,
        is_sized and _is_kept(fine, flat, options), options,
    )  # fmt: skip


def _best(panel: _Panel) -> tuple[Bend, Affines] | None:
    """Pattern search over curvature, taper, move and turn; None where flat is as good."""
    flat = _worth(panel, np.zeros(5))
    x, best = np.zeros(5), flat
    for start in (1.0, -1.0):  # a little bend may win nothing where a bold one does
        trial = np.zeros(5)
        trial[0] = start * panel.options.first_step
        value = _worth(panel, trial)
        if value > best:
            x, best = trial, value
    step = np.array([1.0, 1.0, 0.3, 0.3, 0.3]) * panel.options.first_step
    for _ in range(panel.options.n_halvings):
        improved = False
        for k in range(5):
            for sign in (1.0, -1.0):
                trial = x.copy()
                trial[k] += sign * step[k]
                value = _worth(panel, trial)
                if value > best:
                    x, best, improved = trial, value, True
                    break
        if not improved:
            step *= 0.5
    least = panel.options.least * panel.silhouette.area
    clear = _cover_less_spill(panel, x) - _cover_less_spill(panel, np.zeros(5))
    if clear < least or best <= flat or not x[:2].any():
        return None
    return _bend(panel, x), _place(panel, x)


def _bend(panel: _Panel, x: Floats) -> Bend:
    curvature, taper = (x[:2] * panel.most).tolist()
    return Bend(panel.axis, curvature, taper)


def _place(panel: _Panel, x: Floats) -> Affines:
    place = panel.place @ rigid(np.zeros(2), np.array(0.3 * x[4]))
    place[:2, 2] += 0.3 * panel.reach * x[2:4]
    return np.asarray(place, dtype=np.float64)


def _worth(panel: _Panel, x: Floats) -> float:
    """Own-region area won less spill, span and the price of bending; minus infinity outside
    the allowance.
    """
    options, bend = panel.options, _bend(panel, x)
    distortion = float(local_stretch(bend, panel.points).max())
    if distortion > panel.piece.allowance.bend_max + 1e-9:
        return -np.inf
    bent = shapely.transform(panel.outline, lambda points: bend_points(bend, points))
    shape = map_shape(_place(panel, x), bent)
    if not shape.is_valid or shape.bounds[3] > panel.ground + 1e-9:
        return -np.inf
    if panel.is_kept and not _is_kept(panel.outline, shape, options):
        return -np.inf
    if not shape.intersects(panel.bone.body):
        return -np.inf
    won, own, inside = _areas(panel, shape)
    return float(
        won + 0.03 * own - options.spill_price * (shape.area - inside)
        - options.span_price * (inside - own)
        - options.bend_price * np.log(distortion) * shape.area
    )  # fmt: skip


def _cover_less_spill(panel: _Panel, x: Floats) -> float:
    """Own-region area that only this panel covers, less what lies outside the figure."""
    bend = _bend(panel, x)
    bent = shapely.transform(panel.outline, lambda points: bend_points(bend, points))
    shape = map_shape(_place(panel, x), bent)
    won, _, inside = _areas(panel, shape)
    return float(won - (shape.area - inside))


def _areas(panel: _Panel, shape: Shape) -> Floats:
    """(3,): what the panel alone wins, all of it in its region, all of it in the figure."""
    return shared_areas(shape, np.array([panel.bare, panel.own, panel.silhouette]))


def _is_kept(drawn: Shape, worn: Shape, options: BendOptions) -> bool:
    size = float(np.sqrt(worn.area / drawn.area))
    return abs(size - 1) <= options.keep_scale + HAIR and likeness(drawn, worn) >= ALIKE
