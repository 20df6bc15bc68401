"""Where each piece could lie on each region: every way and every spot of a raster tried."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from panelbeater.assignment.candidates import (
    SAME_TURN,
    PieceForm,
    Placement,
    piece_form,
    shown_parts,
    straight_edges,
)
from panelbeater.assignment.cells import Cells, lattice, sample_cells
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.prices import habit_map, liberty_prices
from panelbeater.assignment.ways import Ways
from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.frames import map_shape, moved
from panelbeater.terms.arrays import Floats, Ints
from panelbeater.terms.drawing import Piece
from panelbeater.terms.figure import Bone, Figure

UNDERGROUND = -50.0
"""Worth of a cell below the ground line: no piece goes there willingly."""
MOST_TURNS = 10


@dataclass(frozen=True, slots=True, eq=False)
class Worths:
    """What covering each cell is worth, as a share of the figure: areas or dual prices."""

    own: Floats
    """(n_cells,), for a piece on the cell's own region."""
    seen: Floats
    """(n_cells,), for showing there, unchanged, what the vehicle showed of a piece."""
    seen_off: float
    """The same for a cell outside the figure."""


@dataclass(frozen=True, slots=True, eq=False)
class Search:
    """What finding placements needs to know and no round changes."""

    pieces: tuple[Piece, ...]
    figure: Figure
    cells: Cells
    options: AssignmentOptions
    ground: float
    ways: tuple[Ways, ...]
    windows: tuple[_Window, ...]

    @staticmethod
    def over(
        pieces: Sequence[Piece], figure: Figure, ground: float, options: AssignmentOptions
    ) -> Search:
        """Lay the lattice over the figure and centre the pieces."""
        shapely.prepare(figure.silhouette)
        cells = sample_cells(figure, options.n_cells)
        ways = tuple(
            Ways(piece_form(i, piece, options), piece, part)
            for i, (piece, part) in enumerate(zip(pieces, shown_parts(pieces), strict=True))
        )
        reach = max(way.reach for way in ways)
        windows = tuple(
            _Window(i, bone, figure, cells, ground, options, reach)
            for i, bone in enumerate(figure.bones)
        )
        return Search(tuple(pieces), figure, cells, options, ground, ways, windows)

    @property
    def cell_bonus(self) -> float:
        """What showing one cell as it was drawn is worth, share of the figure."""
        seen = sum(way.shown_area for way in self.ways)
        return self.options.keep_bonus * self.cells.step**2 / seen

    def plain_worths(self) -> Worths:
        """Every cell at its own area, as if nothing else were laid."""
        area = self.cells.step**2 / self.figure.silhouette.area
        bonus = self.cell_bonus
        n = len(self.cells.weight)
        return Worths(np.full(n, area), np.full(n, bonus), bonus)


def find_placements(
    search: Search, worths: Worths, *, effort: Effort = QUIET
) -> list[Placement]:
    """The best few placements of every piece on every region, in a fixed order.

    Grows with pieces x regions x (turns x shapes) x spots x cells under a piece.
    """
    found: list[Placement] = []
    for ways in search.ways:
        if effort.is_stopped:
            break
        effort.note(f"trying {ways.piece.id} on every region")
        for window in search.windows:
            if may_cover(ways.piece, window.bone.id):
                values = window.values(ways, worths)
                found += window.placements(ways, values, search.options.per_region)
    return found


def may_cover(piece: Piece, region: str) -> bool:
    """True unless the animator pinned it elsewhere or banned it here."""
    pin = piece.wishes.pin
    return region not in piece.wishes.bans and (pin is None or pin == region)


class _Window:
    """The raster round one region: the spots a piece's centroid may take."""

    def __init__(
        self,
        index: int,
        bone: Bone,
        figure: Figure,
        cells: Cells,
        ground: float,
        options: AssignmentOptions,
        reach: float,
    ) -> None:
        self.index, self.bone, self.figure = index, bone, figure
        self.options, self.ground, self.step = options, ground, cells.step
        step = cells.step
        bounds = np.array(bone.region.bounds).reshape(2, 2)
        margin = max(3, round(options.window_margin * figure.height / step))
        self.low = np.floor(bounds[0] / step).astype(np.int64) - margin
        high = np.ceil(bounds[1] / step).astype(np.int64) + margin
        self.n_columns, self.n_rows = (high - self.low).tolist()
        self.pad = int(np.ceil(reach / step)) + 1
        around = lattice(
            self.low - self.pad, self.n_columns + 2 * self.pad, self.n_rows + 2 * self.pad,
            step,
        )  # fmt: skip
        self.cell_of = self._cells_at(around, cells)
        inside = shapely.contains_xy(figure.silhouette, around[..., 0], around[..., 1])
        mine = np.append(cells.region == index, False)
        self.is_own = mine[self.cell_of]
        area = step**2 / figure.silhouette.area
        self.base = np.where(
            inside, -options.span_price * area, -options.spill_price * area
        )
        self.base[around[..., 1] > ground] = UNDERGROUND
        self.spots = lattice(self.low, self.n_columns, self.n_rows, step)
        along = float(np.arctan2(*(bone.end - bone.start)[::-1]))
        self.directions = [along, *straight_edges(bone.region, 3)]

    def _cells_at(self, around: Floats, cells: Cells) -> Ints:
        """Index of the cell at every lattice point, -1 where there is none."""
        rows, columns = around.shape[:2]
        out = np.full((rows, columns), -1, dtype=np.int64)
        spot = np.round(cells.points / self.step - 0.5).astype(np.int64)
        exact = np.abs((spot + 0.5) * self.step - cells.points).max(axis=1)
        spot -= self.low - self.pad
        here = (spot >= 0).all(axis=1) & (spot < (columns, rows)).all(axis=1)
        here &= exact < 1e-6 * self.step
        out[spot[here, 1], spot[here, 0]] = np.flatnonzero(here)
        return out

    def turns_for(self, form: PieceForm) -> Floats:
        """Turns that lay an edge of the piece along the bone or an edge of the region."""
        if form.is_round:
            return np.zeros(1)
        edges = form.edges if len(form.edges) else np.array([form.axis])
        turns: list[float] = []
        for direction in self.directions:
            for edge in edges:
                for quarter in range(4):
                    turn = (direction - edge + quarter * np.pi / 2) % (2 * np.pi)
                    apart = [abs((turn - t + np.pi) % (2 * np.pi) - np.pi) for t in turns]
                    if min(apart, default=np.pi) > SAME_TURN:
                        turns.append(turn)
        return np.array(turns[:MOST_TURNS])

    def values(self, ways: Ways, worths: Worths) -> Floats:
        """(n_ways, n_rows, n_columns), worth of every way on every spot."""
        linear = ways.turned(self.turns_for(ways.form))
        n_ways = len(linear)
        half = int(np.ceil(ways.reach / self.step))
        offsets = self._offsets(half)
        own = np.append(worths.own, 0.0)[self.cell_of]
        base = np.where(self.is_own, own, self.base).astype(np.float32)
        value = ways.whole.under(linear, offsets) @ self._patches(base, half)
        kept = ways.kept(n_ways)  # value: (n_ways, n_spots)
        if kept.any():
            seen = np.append(worths.seen, worths.seen_off)[self.cell_of].astype(np.float32)
            part = ways.shown.under(linear[kept], offsets)
            value[kept] += part @ self._patches(seen, half)
        value -= liberty_prices(ways.piece, ways.form, linear, self.bone, self.figure,
                                self.options).astype(np.float32)[:, None]  # fmt: skip
        radii = ways.form.extent * np.sqrt(np.linalg.det(linear))
        bonus = habit_map(ways.piece, radii, self.index, self.spots, self.ground,
                          self.figure, self.options)  # fmt: skip
        # Single precision sums differ in the seventh digit: no choice should hang on that.
        return np.round(value.reshape(n_ways, self.n_rows, -1) + bonus, 5).astype(
            np.float64
        )

    def _offsets(self, half: int) -> Floats:
        at = np.arange(-half, half + 1) * self.step
        return np.stack(np.meshgrid(at, at), axis=-1).reshape(-1, 2)

    def _patches(self, field: NDArray[np.float32], half: int) -> NDArray[np.float32]:
        """(n_offsets, n_spots): what lies round every spot."""
        skip, side = self.pad - half, 2 * half + 1
        inner = field[skip : field.shape[0] - skip, skip : field.shape[1] - skip]
        view = np.lib.stride_tricks.sliding_window_view(inner, (side, side))
        return view.reshape(-1, side * side).T

    def placements(self, ways: Ways, values: Floats, n_best: int) -> list[Placement]:
        """Good and different placements; half of them keep the piece as drawn."""
        linear = ways.turned(self.turns_for(ways.form))
        kept = np.flatnonzero(ways.kept(len(linear)))
        seen: set[tuple[int, int, int]] = set()
        found: list[Placement] = []
        for pool, n in (
            (kept, n_best // 2),
            (np.arange(len(linear)), n_best - n_best // 2),
        ):
            for spot in self._spots(values, pool, ways.form, n):
                if spot not in seen:
                    seen.add(spot)
                    place = self._placement(ways.form, linear, spot, float(values[spot]))
                    if place.outline.intersects(self.bone.body):
                        found.append(place)
        return found

    def _placement(
        self, form: PieceForm, linear: Floats, spot: tuple[int, int, int], value: float
    ) -> Placement:
        way, row, column = spot
        place = np.eye(3)
        place[:2, :2], place[:2, 2] = linear[way], self.spots[row, column]
        outline = map_shape(place, form.outline)
        low = outline.bounds[3] - self.ground
        if low > 0:
            place[1, 2] -= low
            outline = map_shape(moved(0, -low), outline)
        scale, stretch = form.shapes[way % len(form.shapes)]
        return Placement(
            form.index, self.index, place, float(scale), float(max(stretch, 1 / stretch)),
            outline, float(value),
        )  # fmt: skip

    def _spots(
        self, values: Floats, pool: Ints, form: PieceForm, n_best: int
    ) -> Iterator[tuple[int, int, int]]:
        """The best way at each of several spots apart from each other, best first."""
        if len(pool) == 0:
            return
        part = values[pool]
        best_way, best = pool[part.argmax(axis=0)], part.max(axis=0)  # (n_rows, n_columns)
        reach = max(1, round(0.3 * form.extent / self.step))
        taken = np.zeros_like(best, dtype=bool)
        for flat in np.argsort(-best, axis=None, kind="stable"):
            row, column = divmod(int(flat), best.shape[1])
            if taken[row, column]:
                continue
            taken[max(0, row - reach) : row + reach + 1,
                  max(0, column - reach) : column + reach + 1] = True  # fmt: skip
            yield int(best_way[row, column]), row, column
            n_best -= 1
            if n_best == 0:
                return
