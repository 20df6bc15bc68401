"""What every placement costs, and what the trade's habits pay back."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from panelbeater.assignment.candidates import Placement, is_kept, long_axis
from panelbeater.assignment.options import AssignmentOptions, sort_of
from panelbeater.geometry.frames import polar
from panelbeater.geometry.overlay import joined, shared_areas, without
from panelbeater.terms.arrays import Affines, Floats
from panelbeater.terms.drawing import Piece
from panelbeater.terms.figure import BONE_IDS, Bone, Figure


def price_placements(
    pieces: Sequence[Piece],
    placements: Sequence[Placement],
    figure: Figure,
    folded_from_rest: Affines,
    folded_bodies: Sequence[BaseGeometry],
    options: AssignmentOptions,
) -> Floats:
    """(n_placements,) prices as shares of the figure's area; negative where a habit pays.

    folded_from_rest : (n_bones, 3, 3), where the fold carries what stands on each bone.
    """
    price = _area_prices(placements, figure, options)
    price += way_prices(
        pieces, placements, figure, folded_from_rest, folded_bodies, options
    )
    seen = visible_shares(pieces)
    axes = [long_axis(piece.outline) for piece in pieces]
    total = figure.silhouette.area
    for j, place in enumerate(placements):
        piece = pieces[place.piece]
        share = piece.outline.area / total
        price[j] += share * options.resize_price * abs(np.log(place.scale))
        price[j] += share * options.stretch_price * abs(np.log(place.stretch))
        if piece.kind != "wheel":
            turn = float(polar(place.stage_from_piece[:2, :2])[0])
            bone = figure.bones[place.region]
            price[j] += share * tilt_price(turn + axes[place.piece], bone, options)
            if piece.signature and abs(turn) > options.legible_turn:
                price[j] += options.illegible_price
        if is_kept(place.scale, place.stretch, options):
            price[j] -= options.keep_bonus * seen[place.piece]
        price[j] -= _habit(piece, place, figure, options)
    return price


def tilt_price(axis: float, bone: Bone, options: AssignmentOptions) -> float:
    """Per own area: plates that lie square to their limb look built, tilted ones look
    thrown.

    axis : stage angle of the piece's long side, radians. Common practice with no source.
    """
    along = float(np.arctan2(*(bone.end - bone.start)[::-1]))
    return options.tilt_price * abs(float(np.sin(2 * (axis - along))))


def fold_map(stage_from_bone_rest: Affines, stage_from_bone_folded: Affines) -> Affines:
    """(n_bones, 3, 3): from the standing stage to where the fold carries it."""
    out: Affines = stage_from_bone_folded @ np.linalg.inv(stage_from_bone_rest)
    return out


def visible_shares(pieces: Sequence[Piece]) -> Floats:
    """(n_pieces,): each piece's share of what is seen of the vehicle."""
    seen = np.zeros(len(pieces))
    above: BaseGeometry = shapely.Polygon()
    for i in range(len(pieces) - 1, -1, -1):
        seen[i] = without(pieces[i].outline, above).area
        above = joined([above, pieces[i].outline])
    shares: Floats = seen / seen.sum()
    return shares


def _area_prices(
    placements: Sequence[Placement], figure: Figure, options: AssignmentOptions
) -> Floats:
    """Spill outside the figure and span onto other regions."""
    outlines = np.array([place.outline for place in placements], dtype=object)
    regions = np.array(
        [figure.bones[place.region].region for place in placements], dtype=object
    )
    area = shapely.area(outlines)
    inside = shared_areas(outlines, figure.silhouette)
    own = shared_areas(outlines, regions)
    price = options.spill_price * (area - inside) + options.span_price * (inside - own)
    out: Floats = price / figure.silhouette.area
    return out


def way_prices(
    pieces: Sequence[Piece],
    placements: Sequence[Placement],
    figure: Figure,
    folded_from_rest: Affines,
    folded_bodies: Sequence[BaseGeometry],
    options: AssignmentOptions,
) -> Floats:
    """Travel to the folded landing place, turn, and the gap to the bone that will carry
    it.
    """
    drawn = shapely.get_coordinates([piece.outline.centroid for piece in pieces])
    bodies = np.array(folded_bodies, dtype=object)
    gaps = np.array([shapely.distance(piece.outline, bodies) for piece in pieces])
    piece = np.array([place.piece for place in placements])
    region = np.array([place.region for place in placements])
    stand = np.array([place.stage_from_piece for place in placements])  # (n, 3, 3)
    landing = (folded_from_rest[region] @ stand)[:, :2, 2]
    way = np.hypot(*(landing - drawn[piece]).T) / figure.height
    turn = np.abs(polar(stand[:, :2, :2])[0]) / np.pi
    price = options.travel_price * way + options.turn_price * turn
    out: Floats = price + options.gap_price * gaps[piece, region] / figure.height
    return out


def _habit(
    piece: Piece, place: Placement, figure: Figure, options: AssignmentOptions
) -> float:
    """Share of the figure a habit is worth; a wheel's fades with its distance from the
    joint: the ankle, the heel, the shoulder.
    """
    worth = options.habits[sort_of(piece)].get(_limb(place.region), 0.0)
    if piece.kind != "wheel" or worth == 0.0:
        return worth
    bone = figure.bones[place.region]
    joint = bone.start if bone.id.startswith(("foot", "upper_arm")) else bone.end
    # A wheel on the joint is as good as one centred on it: large ones have to stand higher.
    beside = max(0.0, shapely.distance(place.outline, shapely.Point(joint)))
    off = float(np.hypot(*(place.stage_from_piece[:2, 2] - joint)))
    apart = (beside + 0.25 * off) / figure.height
    return float(worth * np.exp(-((apart / options.habit_reach) ** 2)))


def _limb(region: int) -> str:
    return BONE_IDS[region].removesuffix("_l").removesuffix("_r")
