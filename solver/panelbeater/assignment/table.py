"""The table of decisions: one Boolean per placement, asked for in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from ortools.sat.python import cp_model

from panelbeater.assignment.candidates import Placement, is_kept
from panelbeater.assignment.cells import Cells
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.terms.arrays import Affines, Floats
from panelbeater.terms.drawing import Piece
from panelbeater.terms.figure import BONE_IDS, Figure

UNIT = 1_000_000
"""Whole units in a share of 1: CP-SAT wants whole numbers, at most a million or so."""


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """Everything the rules may ask about: pieces, placements, cells, prices."""

    pieces: tuple[Piece, ...]
    figure: Figure
    placements: tuple[Placement, ...]
    cells: Cells
    covers: np.ndarray
    """(n_placements, n_cells) bool: own-region cells only."""
    price: Floats
    """(n_placements,), share of the figure."""
    options: AssignmentOptions


class Table:
    """The Booleans of one model."""

    def __init__(self, model: cp_model.CpModel, case: Case) -> None:
        self._case = case
        self.chosen = [model.new_bool_var(f"lay_{j}") for j in range(len(case.placements))]
        self.terms: list[tuple[cp_model.IntVar, int]] = []
        """(variable, whole units) pairs that the objective adds up."""
        self.covered: dict[int, cp_model.IntVar] = {}
        """Cell -> is it covered on its own region; filled by the cover rule."""
        self._by_piece: dict[int, list[int]] = {}
        for j, place in enumerate(case.placements):
            self._by_piece.setdefault(place.piece, []).append(j)

    def for_piece(self, piece: int) -> list[cp_model.IntVar]:
        """All placements of one piece."""
        return [self.chosen[j] for j in self._by_piece.get(piece, [])]

    def on_region(self, piece: int, region: int) -> list[cp_model.IntVar]:
        """All placements of one piece on one region."""
        places = self._case.placements
        return [
            self.chosen[j]
            for j in self._by_piece.get(piece, [])
            if places[j].region == region
        ]

    def covering(self, cell: int) -> list[cp_model.IntVar]:
        """All placements that cover one cell of their own region."""
        return [self.chosen[j] for j in np.flatnonzero(self._case.covers[:, cell])]


def price_placements(
    pieces: Sequence[Piece],
    placements: Sequence[Placement],
    figure: Figure,
    folded_from_rest: Affines,
    folded_bodies: Sequence[shapely.Geometry],
    options: AssignmentOptions,
) -> Floats:
    """(n_placements,) prices as shares of the figure: spill, span, travel, gap, turn,
    resize.

    folded_from_rest : (n_bones, 3, 3), where the fold carries what stands on each bone.
    """
    total, height = figure.silhouette.area, figure.height
    gaps = np.array([[shapely.distance(piece.outline, body) for body in folded_bodies]
                     for piece in pieces])  # fmt: skip
    outlines = np.array([place.outline for place in placements], dtype=object)
    area = shapely.area(outlines)
    inside = shapely.area(shapely.intersection(outlines, figure.silhouette))
    regions = np.array(
        [figure.bones[place.region].region for place in placements], dtype=object
    )
    own = shapely.area(shapely.intersection(outlines, regions))
    price = options.spill_price * (area - inside) + options.span_price * (inside - own)
    price = price / total
    seen = visible_shares(pieces)
    for j, place in enumerate(placements):
        piece = pieces[place.piece]
        landing = folded_from_rest[place.region] @ place.stage_from_piece
        drawn = piece.outline.centroid
        travel = np.hypot(landing[0, 2] - drawn.x, landing[1, 2] - drawn.y) / height
        turn = abs(
            np.arctan2(
                place.stage_from_piece[1, 0] - place.stage_from_piece[0, 1],
                place.stage_from_piece[0, 0] + place.stage_from_piece[1, 1],
            )
        )
        share = piece.outline.area / total
        price[j] += options.travel_price * travel + options.turn_price * turn / np.pi
        price[j] += options.gap_price * gaps[place.piece, place.region] / height
        price[j] += share * options.resize_price * abs(np.log(place.scale))
        price[j] += share * options.stretch_price * abs(np.log(place.stretch))
        if is_kept(place.scale, place.stretch, options):
            price[j] -= options.keep_bonus * seen[place.piece]
        price[j] -= _habit(piece, place, figure, options)
    return price


def cover_matrix(placements: Sequence[Placement], cells: Cells) -> np.ndarray:
    """(n_placements, n_cells) bool: cells of its own region that each placement covers."""
    covers = np.zeros((len(placements), len(cells.weight)), dtype=bool)
    for j, place in enumerate(placements):
        mine = cells.of(place.region)
        points = cells.points[mine]
        covers[j, mine] = shapely.contains_xy(place.outline, points[:, 0], points[:, 1])
    return covers


def fold_map(stage_from_bone_rest: Affines, stage_from_bone_folded: Affines) -> Affines:
    """(n_bones, 3, 3): from the standing stage to where the fold carries it."""
    out: Affines = stage_from_bone_folded @ np.linalg.inv(stage_from_bone_rest)
    return out


def visible_shares(pieces: Sequence[Piece]) -> Floats:
    """(n_pieces,): each piece's share of what is seen of the vehicle."""
    seen, above = np.zeros(len(pieces)), shapely.Polygon()
    for i in range(len(pieces) - 1, -1, -1):
        seen[i] = pieces[i].outline.difference(above).area
        above = shapely.union(above, pieces[i].outline)
    return seen / seen.sum()


def _habit(
    piece: Piece, place: Placement, figure: Figure, options: AssignmentOptions
) -> float:
    """Share of the figure a habit is worth; a wheel's fades with its distance from the
    joint at the far end of the limb: the ankle, the heel, the elbow.
    """
    worth = options.habits[piece.kind].get(_limb(place.region), 0.0)
    if piece.kind != "wheel" or worth == 0.0:
        return worth
    bone = figure.bones[place.region]
    joint = bone.start if bone.id.startswith("foot") else bone.end
    apart = np.hypot(*(place.stage_from_piece[:2, 2] - joint)) / figure.height
    return float(worth * np.exp(-((apart / options.habit_reach) ** 2)))


def _limb(region: int) -> str:
    return BONE_IDS[region].removesuffix("_l").removesuffix("_r")
