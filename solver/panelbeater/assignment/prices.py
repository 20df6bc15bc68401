"""What every placement costs, and what the trade's habits pay back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from panelbeater.assignment.candidates import (
    PieceForm,
    Placement,
    long_axis,
)
from panelbeater.assignment.options import AssignmentOptions, sort_of
from panelbeater.geometry.frames import polar
from panelbeater.kinematics.chain import Skeleton, bodies_on_stage, stage_from_bones
from panelbeater.terms.arrays import Affines, Floats, Ints, Points
from panelbeater.terms.drawing import Piece
from panelbeater.terms.figure import BONE_IDS, Bone, Figure, without_side
from panelbeater.terms.pose import Pose


def taste_prices(
    pieces: Sequence[Piece],
    placements: Sequence[Placement],
    figure: Figure,
    options: AssignmentOptions,
) -> Floats:
    """(n_placements,) prices of size, stretch, turn and habit, as shares of the figure's
    area; negative where a habit pays.
    """
    price = np.zeros(len(placements))
    axes = [long_axis(piece.outline) for piece in pieces]
    total = figure.silhouette.area
    for j, place in enumerate(placements):
        piece = pieces[place.piece]
        share = piece.outline.area / total
        price[j] += share * options.resize_price * abs(np.log(place.scale))
        price[j] += share * options.stretch_price * abs(np.log(place.stretch))
        turn = float(polar(place.stage_from_piece[:2, :2])[0])
        price[j] += options.turn_price * abs(turn) / np.pi
        if piece.kind != "wheel":
            bone = figure.bones[place.region]
            price[j] += share * tilt_price(turn + axes[place.piece], bone, options)
            if piece.signature and abs(turn) > options.legible_turn:
                price[j] += options.illegible_price
        price[j] -= _habit(piece, place, figure, options)
    return price


def liberty_prices(
    piece: Piece,
    form: PieceForm,
    linear: Floats,
    bone: Bone,
    figure: Figure,
    options: AssignmentOptions,
) -> Floats:
    """(n_ways,): what size, stretch and turn cost, whatever the spot; all shapes of one
    turn follow each other in `linear`.
    """
    share = piece.outline.area / figure.silhouette.area
    scale, stretch = np.tile(form.shapes, (len(linear) // len(form.shapes), 1)).T
    price: Floats = share * options.resize_price * np.abs(np.log(scale))
    price = price + share * options.stretch_price * np.abs(np.log(stretch))
    turn = np.asarray(polar(linear)[0])
    price += options.turn_price * np.abs(turn) / np.pi
    if piece.kind != "wheel":
        price += share * tilt_prices(turn + form.axis, bone, options)
        if piece.signature:
            price += options.illegible_price * (np.abs(turn) > options.legible_turn)
    return price


def tilt_price(axis: float, bone: Bone, options: AssignmentOptions) -> float:
    """tilt_prices of one piece."""
    return float(tilt_prices(np.array(axis), bone, options))


def tilt_prices(axis: Floats, bone: Bone, options: AssignmentOptions) -> Floats:
    """Per own area: plates that lie square to their limb look built, tilted ones look
    thrown.

    axis : stage angles of the piece's long side, radians. Common practice with no source.
    """
    out: Floats = options.tilt_price * np.abs(np.sin(2 * (axis - along_limb(bone))))
    return out


def along_limb(bone: Bone) -> float:
    """Direction of a limb, radians."""
    return float(np.arctan2(*(bone.end - bone.start)[::-1]))


@dataclass(frozen=True, slots=True, eq=False)
class Folded:
    """How the folded body stands to the drawn pieces."""

    folded_from_rest: Affines
    """(n_bones, 3, 3), where the fold carries what stands on each bone."""
    gaps: Floats
    """(n_pieces, n_bones), from each drawn piece to each folded body."""
    drawn: Points
    """(n_pieces, 2), centroids in the vehicle."""


def folded_under(pieces: Sequence[Piece], skeleton: Skeleton, pose: Pose) -> Folded:
    """One fold as the prices see it."""
    bodies = np.array(bodies_on_stage(skeleton, pose), dtype=object)
    gaps = np.array([shapely.distance(piece.outline, bodies) for piece in pieces])
    drawn = shapely.get_coordinates([piece.outline.centroid for piece in pieces])
    standing = stage_from_bones(skeleton, skeleton.rest)
    return Folded(stage_from_bones(skeleton, pose) @ np.linalg.inv(standing), gaps, drawn)


def way_prices(
    placements: Sequence[Placement],
    figure: Figure,
    folded: Folded,
    options: AssignmentOptions,
) -> Floats:
    """Travel to the folded landing place and the gap to the bone that will carry it."""
    piece = np.array([place.piece for place in placements])
    region = np.array([place.region for place in placements])
    spots = np.array([place.stage_from_piece[:2, 2] for place in placements])
    return ride_prices(piece, region, spots, figure, folded, options)


def ride_prices(
    piece: Ints,
    region: Ints,
    spots: Points,
    figure: Figure,
    folded: Folded,
    options: AssignmentOptions,
) -> Floats:
    """The same for centroids anywhere: piece, region (...,) and spots (..., 2)."""
    carry = folded.folded_from_rest[region]
    landing = (carry[..., :2, :2] @ spots[..., None])[..., 0] + carry[..., :2, 2]
    way = np.linalg.norm(landing - folded.drawn[piece], axis=-1)
    gap = folded.gaps[piece, region]
    out: Floats = (options.travel_price * way + options.gap_price * gap) / figure.height
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
    joint = _joint(figure.bones[place.region])
    # A wheel on the joint is as good as one centred on it: large ones have to stand higher.
    beside = max(0.0, shapely.distance(place.outline, shapely.Point(joint)))
    off = np.hypot(*(place.stage_from_piece[:2, 2] - joint))
    return float(worth * _fading((beside + 0.25 * off) / figure.height, options))


def habit_map(
    piece: Piece,
    radii: Floats,
    region: int,
    spots: Points,
    ground: float,
    figure: Figure,
    options: AssignmentOptions,
) -> Floats:
    """(n_ways, n_rows, n_columns): what the habit is worth with the centroid on each spot,
    lifted off the ground where the piece would sink in.

    radii : (n_ways,), of the piece.
    """
    worth = options.habits[sort_of(piece)].get(_limb(region), 0.0)
    if piece.kind != "wheel" or worth == 0.0:
        return np.full((1, 1, 1), worth)
    radii, joint = radii[:, None, None], _joint(figure.bones[region])
    off = np.hypot(
        spots[..., 0] - joint[0], np.minimum(spots[..., 1], ground - radii) - joint[1]
    )
    beside = np.maximum(0.0, off - radii)
    return worth * _fading((beside + 0.25 * off) / figure.height, options)


def _joint(bone: Bone) -> Points:
    return bone.start if bone.id.startswith(("foot", "upper_arm")) else bone.end


def _fading(apart: Floats, options: AssignmentOptions) -> Floats:
    out: Floats = np.exp(-((apart / options.habit_reach) ** 2))
    return out


def _limb(region: int) -> str:
    return without_side(BONE_IDS[region])
