"""Squeezes a settled layout: all pieces at once, along the exact slope of its worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from scipy.optimize import Bounds, minimize
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from panelbeater.assignment.candidates import (
    PieceForm,
    Placement,
    visible_shares,
)
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.prices import along_limb
from panelbeater.assignment.refine import SHARED_PRIZE, laid_by, unknowns_of, veils_of
from panelbeater.assignment.rim import Rim
from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.overlay import joined, shared_areas, without
from panelbeater.terms.arrays import Floats
from panelbeater.terms.drawing import Piece
from panelbeater.terms.figure import Figure

REACH = np.array([0.04, 0.04, 0.3, 0.2, 0.2])
"""How far a piece may go: shares of the height, radians, ln scale, ln stretch."""
STRIDE = np.array([0.01, 0.01, 0.05, 0.05, 0.05])
"""What counts as one unit of each, so that all weigh about the same."""
SOFT = 0.01
"""Radians and ln: prices that grow from a kink are rounded off by so much."""
FINE = 0.0005
"""Share of the height that outlines are simplified by on the way; not for the verdict."""
UNDERGROUND = 2.0
"""Per area below the ground line, more than any area wins; what sinks is lifted at last."""
HAIR = 1e-6
"""By so much less than it may a piece that is kept as drawn is sized and stretched."""
MOST_LOOKS = 40
"""Times the slope is computed; where edges meet it jumps, and more won nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """One piece that moves, and what all its area is worth."""

    index: int
    form: PieceForm
    outline: MultiPolygon
    """In its own frame, simplified, its outer rings of positive area."""
    region: int
    along: float
    """Direction of the limb, radians."""
    veiled: tuple[int, ...]
    """Pieces that it must not overlap."""


@dataclass(frozen=True, slots=True, eq=False)
class _Whole:
    """The layout while its movable pieces move."""

    moving: tuple[_Piece, ...]
    still: tuple[Placement, ...]
    figure: Figure
    ground: float
    options: AssignmentOptions


def refine_together(
    placements: Sequence[Placement],
    forms: Sequence[PieceForm],
    pieces: Sequence[Piece],
    figure: Figure,
    ground: float,
    options: AssignmentOptions,
    *,
    effort: Effort = QUIET,
    rooms: Floats | None = None,
) -> tuple[Placement, ...]:
    """The same layout with all pieces moved, turned, sized and stretched at once, or as it
    was where that is worth more.

    Wheels and what is stowed lie still, signature pieces keep their proportions, what is
    kept as drawn stays so, bounds are hard. Wholes are compared by exact areas. Costs about
    40 times what it takes to overlay every piece with its neighbours.

    rooms : (n_pieces,), |ln scale| that the ways hide: nothing is resized beyond its room
        any further than it was.
    """
    moving = _moving(placements, forms, pieces, figure)
    if not moving or effort.is_stopped:
        return tuple(placements)
    whole = _Whole(moving, tuple(placements), figure, ground, options)
    start, low, high = _range(whole, pieces, rooms)
    stride = STRIDE * [figure.height, figure.height, 1, 1, 1]

    def loss(z: Floats) -> tuple[float, Floats]:
        worth, slope = _worth_and_slope(whole, z.reshape(-1, 5) * stride)
        return -worth, -(slope * stride).ravel()

    def look(xk: Floats) -> None:
        if effort.is_stopped:
            raise StopIteration

    ends = Bounds((low / stride).ravel(), (high / stride).ravel())
    done = minimize(
        loss, (start / stride).ravel(), jac=True, method="L-BFGS-B", bounds=ends,
        options={"maxfun": MOST_LOOKS}, callback=look,
    )  # fmt: skip
    moved = list(placements)
    for m, x in zip(moving, done.x.reshape(-1, 5) * stride, strict=True):
        place = _laid(m, x, ground)
        if place.outline.intersects(figure.bones[m.region].body):
            moved[m.index] = place
    before = layout_worth(placements, forms, pieces, figure, options)
    after = layout_worth(moved, forms, pieces, figure, options)
    return tuple(moved) if after > before else tuple(placements)


def layout_worth(
    laid: Sequence[Placement],
    forms: Sequence[PieceForm],
    pieces: Sequence[Piece],
    figure: Figure,
    options: AssignmentOptions,
) -> float:
    """Exact area that the regions have under their own pieces, less the prices that a move,
    turn, size or stretch changes, in drawing units squared.
    """
    total, seen, veils = 0.0, visible_shares(pieces), veils_of(pieces)
    for r, bone in enumerate(figure.bones):
        mine = [p.outline for p in laid if p.region == r and not p.stowed]
        total += float(shared_areas(joined(mine), bone.region)) if mine else 0.0
    for i, place in [(i, place) for i, place in enumerate(laid) if not place.stowed]:
        own, inside = shared_areas(
            place.outline, np.array([figure.bones[place.region].region, figure.silhouette])
        )
        hidden = [laid[k].outline for k in np.flatnonzero(veils[i][:i]).tolist()
                  if not laid[k].stowed]  # fmt: skip
        x, area = unknowns_of(place, forms[i]), place.outline.area
        total += SHARED_PRIZE * own - options.span_price * (inside - own)
        total -= options.spill_price * (area - inside)
        total -= options.veil_price * float(shared_areas(place.outline, joined(hidden)))
        tilt = abs(
            np.sin(2 * (x[2] + forms[i].axis - along_limb(figure.bones[place.region])))
        )
        liberty = options.resize_price * abs(x[3]) + options.stretch_price * abs(x[4])
        liberty += options.tilt_price * tilt if pieces[i].kind != "wheel" else 0.0
        total -= liberty * forms[i].outline.area
        if forms[i].is_kept(place.scale, place.stretch):
            total += options.keep_bonus * seen[i] * figure.silhouette.area
    return float(total)


def _moving(
    placements: Sequence[Placement],
    forms: Sequence[PieceForm],
    pieces: Sequence[Piece],
    figure: Figure,
) -> tuple[_Piece, ...]:
    veils, out = veils_of(pieces), []
    for i, place in enumerate(placements):
        if place.stowed or pieces[i].kind == "wheel":
            continue  # habit put it at the ankle, as in refine_placements
        region = place.region
        parts = shapely.get_parts(forms[i].outline.simplify(FINE * figure.height))
        outline = MultiPolygon([orient(part) for part in parts])
        veiled = tuple(np.flatnonzero(veils[i]).tolist())
        along = along_limb(figure.bones[region])
        out.append(_Piece(i, forms[i], outline, region, along, veiled))
    return tuple(out)


def _range(
    whole: _Whole, pieces: Sequence[Piece], rooms: Floats | None
) -> tuple[Floats, Floats, Floats]:
    """Where the unknowns start, and how low and high they may go, (n_moving, 5) each: the
    allowance, and as drawn for what is drawn so.
    """
    figure = whole.figure
    still = [whole.still[m.index] for m in whole.moving]
    start = np.array(
        [unknowns_of(p, m.form) for p, m in zip(still, whole.moving, strict=True)]
    )
    reach = REACH * [figure.height, figure.height, 1, 1, 1]
    low, high = start - reach, start + reach
    for k, (place, m) in enumerate(zip(still, whole.moving, strict=True)):
        piece = pieces[m.index]
        most = 0.0 if piece.signature else float(np.log(piece.allowance.stretch_max))
        sizes = np.log([piece.allowance.scale_min, piece.allowance.scale_max])
        if rooms is not None:
            room = max(float(rooms[m.index]), abs(float(start[k, 3])))
            sizes = sizes.clip(-room, room)
        if m.form.is_kept(place.scale, place.stretch):
            apart = m.form.keep_scale - HAIR
            sizes = sizes.clip(*np.log([1 - apart, 1 + apart]))
            most = min(most, max(0.0, float(np.log(m.form.keep_stretch)) - HAIR))
        low[k, 3:] = np.maximum(low[k, 3:], [sizes[0], -most])
        high[k, 3:] = np.minimum(high[k, 3:], [sizes[1], most])
    return start.clip(low, high), low, high


def _laid(m: _Piece, x: Floats, ground: float) -> Placement:
    """Exactly outlined, lifted off the ground."""
    place = laid_by(x, m.form, m.index, m.region)
    low = place.outline.bounds[3] - ground
    if low <= 0:
        return place
    return laid_by(x - [0, low, 0, 0, 0], m.form, m.index, m.region)


def _worth_and_slope(whole: _Whole, x: Floats) -> tuple[float, Floats]:
    """Worth, and its slope (n_moving, 5) in every unknown."""
    figure, options = whole.figure, whole.options
    now: list[BaseGeometry] = [place.outline for place in whole.still]
    placed = [laid_by(x[k], m.form, m.index, m.region, outline=m.outline)
              for k, m in enumerate(whole.moving)]  # fmt: skip
    for m, place in zip(whole.moving, placed, strict=True):
        now[m.index] = place.outline
    x0, _, x1, y1 = figure.silhouette.bounds
    # An edge that lies on the ground line is not in it: it may stay.
    ground = whole.ground + HAIR * figure.height
    deep = shapely.box(x0 - figure.height, ground, x1 + figure.height, y1 + figure.height)
    worth, slope, moves = 0.0, np.zeros_like(x), {m.index for m in whole.moving}
    on = [[i for i, p in enumerate(whole.still) if p.region == r and not p.stowed]
          for r in range(len(figure.bones))]  # fmt: skip
    for bone, mine in zip(figure.bones, on, strict=True):
        if mine:
            worth += float(shared_areas(joined([now[i] for i in mine]), bone.region))
    for k, m in enumerate(whole.moving):
        shape, own = now[m.index], figure.bones[m.region].region
        others = [now[i] for i in on[m.region] if i != m.index]
        bare = without(own, joined(others)) if others else own
        veiled = joined([now[i] for i in m.veiled if not whole.still[i].stowed])
        areas = np.array([own, figure.silhouette, veiled, deep])
        pays = np.array([SHARED_PRIZE + options.span_price,
                         options.spill_price - options.span_price,
                         -options.veil_price, -UNDERGROUND])  # fmt: skip
        worth += float(pays @ shared_areas(shape, areas)) - options.spill_price * shape.area
        # Of two that both move and must not overlap, one pays for what they share.
        twice = joined([now[i] for i in m.veiled if i < m.index and i in moves])
        worth += options.veil_price * float(shared_areas(shape, twice))
        rim = Rim.of(shape, x[k], m.form.axis)
        slope[k] -= options.spill_price * rim.flow(None)
        for area, pay in zip([bare, *areas], [1.0, *pays], strict=True):
            if not area.is_empty:
                slope[k] += pay * rim.flow(area)
        price, leaning = _liberties(m, x[k], options)
        worth, slope[k] = worth - price, slope[k] - leaning
    return worth, slope


def _liberties(m: _Piece, x: Floats, options: AssignmentOptions) -> tuple[float, Floats]:
    """Prices of turn, size and stretch, and their slope (5,)."""
    double = 2 * (x[2] + m.form.axis - m.along)
    kinked = np.array([np.sin(double), x[3], x[4]])
    each = m.form.outline.area * np.array(
        [options.tilt_price, options.resize_price, options.stretch_price]
    )
    rounded = np.hypot(kinked, SOFT)
    slope = each * kinked / rounded * [2 * np.cos(double), 1.0, 1.0]
    return float(each @ rounded), np.concatenate([np.zeros(2), slope])
