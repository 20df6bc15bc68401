"""Small random layout problems that can be solved by trying everything."""

from __future__ import annotations

import numpy as np
from shapely import box

from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.table import Case
from tests.assignment.tiny import case_of, laid, one_cell_a_region, tile_figure
from tests.vehicles import piece

RICH = AssignmentOptions(
    mirror_bonus=0.05, size_bonus=0.0, region_minimum=0.6, balance_price=0.0,
    twin_price=0.0, gap_limit=0.0,
)  # fmt: skip


def random_case(seed: int) -> Case:
    """Four tiles in two mirror pairs, five spots each over six sided regions."""
    rng = np.random.default_rng(seed)
    mirrors = {"a": "b", "b": "a", "c": "d", "d": "c"}
    pieces = [piece(n, box(20 * i, 0, 20 * i + 1, 1), i, mirror=mirrors[n])
              for i, n in enumerate("abcd")]  # fmt: skip
    figure = tile_figure([box(10 * i, 0, 10 * i + 4, 4) for i in range(15)])
    n_regions = 15
    cells = one_cell_a_region(n_regions, 0.0)
    cells = type(cells)(
        np.repeat(cells.points, 2, axis=0), np.repeat(cells.region, 2),
        rng.dirichlet(np.ones(2 * n_regions)),
    )  # fmt: skip
    placements, covers = [], []
    for i in range(4):
        for region in sorted(rng.choice(np.arange(3, 9), 5, replace=False).tolist()):
            placements.append(laid(i, region, box(10 * region, 0, 10 * region + 1, 1)))
            covers.append((cells.region == region) & (rng.random(2 * n_regions) < 0.7))
    price = rng.uniform(-0.02, 0.06, len(placements))
    return case_of(pieces, figure, placements, cells, np.array(covers), price, RICH)
