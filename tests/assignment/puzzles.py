"""Published puzzles as layouts: cells on a grid, pieces with all their exact placements."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np
from shapely import box

from panelbeater.assignment.candidates import Placement
from panelbeater.assignment.cells import Cells
from panelbeater.assignment.table import Case
from tests.assignment.tiny import PLAIN, case_of, laid, tile_figure
from tests.vehicles import piece

Square = tuple[int, int]
Quarter = tuple[int, int, int]
"""Column, row and side (0 north, 1 east, 2 south, 3 west) of a quarter of a unit square."""
_TILE = box(0, 0, 4, 4)
EXACT = replace(PLAIN, small_pool=10_000, gap_limit=0.0)
"""Puzzles are solved whole, to the end."""

PENTOMINOES = {
    "F": [(1, 0), (2, 0), (0, 1), (1, 1), (1, 2)],
    "I": [(0, 0), (1, 0), (2, 0), (3, 0), (4, 0)],
    "L": [(0, 0), (1, 0), (2, 0), (3, 0), (3, 1)],
    "N": [(0, 0), (1, 0), (2, 0), (2, 1), (3, 1)],
    "P": [(0, 0), (1, 0), (0, 1), (1, 1), (0, 2)],
    "T": [(0, 0), (1, 0), (2, 0), (1, 1), (1, 2)],
    "U": [(0, 0), (2, 0), (0, 1), (1, 1), (2, 1)],
    "V": [(0, 0), (0, 1), (0, 2), (1, 2), (2, 2)],
    "W": [(0, 0), (0, 1), (1, 1), (1, 2), (2, 2)],
    "X": [(1, 0), (0, 1), (1, 1), (2, 1), (1, 2)],
    "Y": [(0, 0), (1, 0), (2, 0), (3, 0), (1, 1)],
    "Z": [(0, 0), (1, 0), (1, 1), (1, 2), (2, 2)],
}
TANS: dict[str, list[Quarter]] = {
    "small_1": [(0, 0, 0), (0, 0, 3)],
    "small_2": [(0, 0, 0), (0, 0, 3)],
    "middle": [(0, 0, 2), (0, 0, 1), (1, 0, 2), (1, 0, 3)],
    "square": [(0, 0, 0), (0, 0, 1), (0, 0, 2), (0, 0, 3)],
    "slant": [(0, 0, 1), (0, 0, 2), (1, 0, 0), (1, 0, 3)],
    "large_1": [(0, 0, k) for k in range(4)] + [(1, 0, 0), (1, 0, 3), (0, 1, 0), (0, 1, 3)],
    "large_2": [(0, 0, k) for k in range(4)] + [(1, 0, 0), (1, 0, 3), (0, 1, 0), (0, 1, 3)],
}
"""The seven tans in quarter squares; the small ones have legs of length 1."""


def cover_case(
    cells: Sequence[object], ways: Mapping[str, Iterable[frozenset[object]]]
) -> Case:
    """Each piece in one of its ways, each way the cells it covers; a cell weighs 0.01."""
    index = {cell: i for i, cell in enumerate(cells)}
    pieces = [piece(name, box(9 * i, 0, 9 * i + 4, 4), i) for i, name in enumerate(ways)]
    placements: list[Placement] = []
    rows = []
    for i, name in enumerate(ways):
        for way in ways[name]:
            placements.append(laid(i, 0, _TILE))
            rows.append(np.isin(np.arange(len(cells)), [index[cell] for cell in way]))
    spots = np.zeros((len(cells), 2))
    weights = np.full(len(cells), 0.01)
    sampled = Cells(spots, np.zeros(len(cells), dtype=np.int64), weights)
    price = np.zeros(len(placements))
    figure = tile_figure([_TILE])
    return case_of(pieces, figure, placements, sampled, np.array(rows), price, EXACT)


def pentomino_case(columns: int, rows: int) -> Case:
    """All twelve pentominoes over a rectangle. The X stays in one quarter of it, so that
    of the four ways to see one solution (as it is, flipped, turned) only one is counted.
    """
    board = list(itertools.product(range(columns), range(rows)))
    ways = {name: list(_on_board(shape, board)) for name, shape in PENTOMINOES.items()}
    ways["X"] = [way for way in ways["X"] if _is_first_quarter(way, columns, rows)]
    return cover_case(board, ways)


def _is_first_quarter(way: frozenset[Square], columns: int, rows: int) -> bool:
    x, y = (2 * sum(cell[k] for cell in way) / len(way) + 1 for k in (0, 1))
    return x <= columns and y <= rows


def _on_board(
    shape: Sequence[Square], board: Sequence[Square]
) -> Iterator[frozenset[Square]]:
    free = set(board)
    seen = set()
    for flip, turn in itertools.product((1, -1), range(4)):
        cells = [(flip * x, y) for x, y in shape]
        for _ in range(turn):
            cells = [(-y, x) for x, y in cells]
        for dx, dy in board:
            x0, y0 = min(x for x, _ in cells), min(y for _, y in cells)
            way = frozenset((x - x0 + dx, y - y0 + dy) for x, y in cells)
            if way <= free and way not in seen:
                seen.add(way)
                yield way


def convex_figures() -> list[list[Quarter]]:
    """All convex figures of sixteen half squares, as quarters of unit squares.

    Such a figure is a rectangle less a half square at each corner:
    2 x y - a^2 - b^2 - c^2 - d^2 = 16 (Wang & Hsiung 1942, section 2).
    """
    seen, figures = set(), []
    for x, y in itertools.product(range(1, 18), repeat=2):
        for cut in itertools.product(range(min(x, y) + 1), repeat=4):
            a, b, c, d = cut
            fits = a + b <= x and c + d <= x and a + d <= y and b + c <= y
            if not fits or 2 * x * y - sum(n * n for n in cut) != 16:
                continue
            key = min(_seen_from_all_sides(x, y, cut))
            if key not in seen:
                seen.add(key)
                figures.append(_quarters_inside(x, y, cut))
    return figures


def _seen_from_all_sides(x: int, y: int, cut: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Corners in turn from north-west; a quarter turn swaps the sides."""
    for corners in (cut, (cut[1], cut[0], cut[3], cut[2])):
        for turn in range(4):
            sides = (x, y) if turn % 2 == 0 else (y, x)
            yield (*sides, *corners[turn:], *corners[:turn])


_MIDDLES = ((0.5, 1 / 6), (5 / 6, 0.5), (0.5, 5 / 6), (1 / 6, 0.5))


def _quarters_inside(x: int, y: int, cut: tuple[int, ...]) -> list[Quarter]:
    a, b, c, d = cut
    inside = []
    for column, row, side in itertools.product(range(x), range(y), range(4)):
        u, v = column + _MIDDLES[side][0], row + _MIDDLES[side][1]
        beyond = (a - u - v, b - (x - u) - v, c - (x - u) - (y - v), d - u - (y - v))
        if max(beyond) < 0:
            inside.append((column, row, side))
    return inside


def tangram_case(figure: Sequence[Quarter]) -> Case:
    """The seven tans over one figure, in every way that stays inside it."""
    free = set(figure)
    ways = {name: list(_tan_ways(tan, free)) for name, tan in TANS.items()}
    return cover_case(figure, ways)


def _tan_ways(tan: Sequence[Quarter], free: set[Quarter]) -> Iterator[frozenset[Quarter]]:
    seen = set()
    for flip, turn in itertools.product((False, True), range(4)):
        cells = [(-x, y, (4 - side) % 4) for x, y, side in tan] if flip else list(tan)
        for _ in range(turn):
            cells = [(-y, x, (side + 1) % 4) for x, y, side in cells]
        for dx, dy in itertools.product(range(-9, 10), repeat=2):
            way = frozenset((x + dx, y + dy, side) for x, y, side in cells)
            if way <= free and way not in seen:
                seen.add(way)
                yield way
