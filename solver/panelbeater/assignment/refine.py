"""Nudges every laid piece until its exact worth stops growing."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import cast

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from panelbeater.assignment.candidates import (
    PieceForm,
    Placement,
    stretch_matrix,
    visible_shares,
)
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.prices import tilt_price
from panelbeater.assignment.stacking import lies_nearer
from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.frames import map_shape, polar, rigid
from panelbeater.geometry.overlay import joined, shared_areas, without
from panelbeater.terms.arrays import Floats
from panelbeater.terms.drawing import Allowance, Piece, Shape
from panelbeater.terms.figure import Bone, Figure

SHARED_PRIZE = 0.03
"""Per area of a piece on its own region, also where others cover it: they may move."""


@dataclass(frozen=True, slots=True, eq=False)
class _Spot:
    """What a piece is judged against while its neighbours lie still."""

    bare: BaseGeometry
    own: BaseGeometry
    silhouette: BaseGeometry
    bone: Bone
    ground: float
    options: AssignmentOptions
    keep: float
    """Area that keeping the piece as drawn is worth."""
    veiled: BaseGeometry
    """Where the piece would hide signature pieces, or others hide it, being one."""
    room: float
    """|ln scale| that its way hides."""


def refine_placements(
    placements: Sequence[Placement],
    forms: Sequence[PieceForm],
    pieces: Sequence[Piece],
    figure: Figure,
    ground: float,
    options: AssignmentOptions,
    *,
    n_rounds: int,
    effort: Effort = QUIET,
    movable: Collection[int] | None = None,
    rooms: Floats | None = None,
) -> tuple[Placement, ...]:
    """Coordinate search on move, turn, scale and stretch, piece by piece, largest first.

    rooms : (n_pieces,), |ln scale| that the ways hide; what goes beyond is charged.

    The exact polygon area is the judge, so a placement is never traded for a worse one;
    bounds are hard, wheels and signature pieces keep their proportions. Grows with pieces x
    rounds.
    """
    slack = 0.002 * figure.height
    silhouette = figure.silhouette.simplify(slack)
    regions = [bone.region.simplify(slack) for bone in figure.bones]
    shapely.prepare(silhouette)
    seen = visible_shares(pieces)
    veils = veils_of(pieces)
    current = list(placements)
    which = range(len(current)) if movable is None else movable
    order = sorted(which, key=lambda i: (-current[i].outline.area, i))
    step = 0.02
    for _ in range(n_rounds):
        for i in order:
            if effort.is_stopped:
                return tuple(current)
            if current[i].stowed or pieces[i].kind == "wheel":
                continue  # habit put it at the ankle; area alone would pull it away
            here = current[i]
            others = [
                p.outline
                for k, p in enumerate(current)
                if k != i and p.region == here.region and not p.stowed
            ]
            own = regions[here.region]
            bare = without(own, joined(others)) if others else own
            bone = figure.bones[here.region]
            keep = options.keep_bonus * seen[i] * figure.silhouette.area
            veiled = joined([current[k].outline for k in np.flatnonzero(veils[i])
                             if not current[k].stowed])  # fmt: skip
            room = np.inf if rooms is None else float(rooms[i])
            spot = _Spot(bare, own, silhouette, bone, ground, options, keep, veiled, room)
            current[i] = _nudge(here, forms[i], pieces[i], spot, figure.height, step)
        step *= 0.6
    return tuple(current)


def veils_of(pieces: Sequence[Piece]) -> np.ndarray:
    """(n_pieces, n_pieces) bool: pairs of which one is a signature piece and the other must
    lie over it, as `rules/signature.py` has it.
    """
    hides = lies_nearer(pieces) & [piece.signature for piece in pieces]  # row over column
    out: np.ndarray = hides | hides.T
    return out


def _nudge(
    place: Placement, form: PieceForm, piece: Piece, spot: _Spot, height: float, step: float
) -> Placement:
    """Pattern search: keep what helps, halve the stride when nothing does."""
    stiff = piece.signature or piece.kind == "wheel"
    outline = cast(Shape, form.outline.simplify(0.001 * height))
    x = unknowns_of(place, form)
    best = _worth(x, outline, form, piece.allowance, spot)
    stride = np.array(
        [step * height, step * height, 6 * step, 3 * step, 0.0 if stiff else 3 * step]
    )
    for _ in range(4):
        improved = False
        for axis in np.flatnonzero(stride):
            for sign in (1.0, -1.0):
                trial = x.copy()
                trial[axis] += sign * stride[axis]
                value = _worth(trial, outline, form, piece.allowance, spot)
                if value > best:
                    x, best, improved = trial, value, True
                    break
        if not improved:
            stride *= 0.5
    return replace(laid_by(x, form, place.piece, place.region), score=best)


def laid_by(
    x: Floats, form: PieceForm, piece: int, region: int, *, outline: Shape | None = None
) -> Placement:
    """The placement that five unknowns stand for; of another outline than the form's."""
    matrix = matrix_of(x, form)
    return Placement(
        piece, region, matrix, float(np.exp(x[3])), float(np.exp(abs(x[4]))),
        map_shape(matrix, outline or form.outline), 0.0,
    )  # fmt: skip


def unknowns_of(place: Placement, form: PieceForm) -> Floats:
    """(5,): x, y, turn, ln scale, signed ln stretch along the form's axis."""
    turn, stretch = polar(place.stage_from_piece[:2, :2])
    axis = np.array([np.cos(form.axis), np.sin(form.axis)])
    along = float(axis @ stretch @ axis)
    ln_scale = float(np.log(place.scale))
    return np.array(
        [*place.stage_from_piece[:2, 2], turn, ln_scale, 2 * (np.log(along) - ln_scale)]
    )


def matrix_of(x: Floats, form: PieceForm) -> Floats:
    """(3, 3) that five unknowns stand for."""
    matrix = rigid(x[:2], x[2])
    matrix[:2, :2] @= stretch_matrix(float(np.exp(x[3])), float(np.exp(x[4])), form.axis)
    return matrix


def _worth(
    x: Floats, outline: Shape, form: PieceForm, allowed: Allowance, spot: _Spot
) -> float:
    """Exact area won less spill and span; minus infinity outside the bounds."""
    low, high = np.log(allowed.scale_min) - 1e-9, np.log(allowed.scale_max) + 1e-9
    if not low <= x[3] <= high or abs(x[4]) > np.log(allowed.stretch_max) + 1e-9:
        return -np.inf
    shape = map_shape(matrix_of(x, form), outline)
    if shape.bounds[3] > spot.ground + 1e-9 or not shape.intersects(spot.bone.body):
        return -np.inf
    won, own, inside, veiled = shared_areas(
        shape, np.array([spot.bare, spot.own, spot.silhouette, spot.veiled])
    )
    options, area = spot.options, shape.area
    kept = spot.keep * form.is_kept(float(np.exp(x[3])), float(np.exp(abs(x[4]))))
    liberty = options.resize_price * abs(x[3]) + options.stretch_price * abs(x[4])
    liberty += options.seen_price * max(0.0, abs(float(x[3])) - spot.room)
    liberty += tilt_price(float(x[2]) + form.axis, spot.bone, options)
    return float(
        won + SHARED_PRIZE * own - options.spill_price * (area - inside)
        - options.span_price * (inside - own) - liberty * form.outline.area + kept
        - options.veil_price * veiled
    )  # fmt: skip
