"""Draw order changes only where nobody can see it."""

from __future__ import annotations

import itertools

import networkx as nx
import numpy as np
import pytest
from shapely import Point, box
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from panelbeater.paths.depth import flips_in_sight, stack_depths
from panelbeater.terms.arrays import Floats
from panelbeater.terms.timing import ShotOptions

pytestmark = pytest.mark.solve
SHOT = ShotOptions(n_frames=48)
TILE = box(-5, -5, 5, 5)


def _paths(*ways: Floats) -> list[list[BaseGeometry]]:
    return [[translate(TILE, float(x), 0) for x in frame] for frame in np.stack(ways, 1)]


def _out_and_back(reach: float) -> Floats:
    times = np.arange(SHOT.n_frames, dtype=np.float64)
    return reach * np.exp(-0.5 * ((times - 24) / 4.0) ** 2)


def test_two_tiles_change_order_while_they_are_apart() -> None:
    outlines = _paths(np.zeros(48), _out_and_back(20.0))
    shown = np.ones((48, 2), dtype=bool)
    done = stack_depths(outlines, shown, [1, 0], shot=SHOT)
    assert done.depth[0].tolist() == [0, 1]
    assert done.depth[-1].tolist() == [1, 0]
    assert not done.left
    assert not flips_in_sight(done.depth, outlines, shown)
    at = int(np.flatnonzero(done.depth[:, 0] == 1)[0])
    assert (
        min(outlines[f][0].intersection(outlines[f][1]).area for f in (at - 1, at)) < 1e-3
    )


def test_two_tiles_that_never_part_stay_as_drawn_and_are_listed() -> None:
    outlines = _paths(np.zeros(48), _out_and_back(6.0))
    done = stack_depths(outlines, np.ones((48, 2), dtype=bool), [1, 0], shot=SHOT)
    assert (done.depth == [0, 1]).all()
    assert done.left == ((0, 1),)
    assert done.proof.startswith("0 of 1")


def test_a_piece_that_is_not_shown_may_pass_behind() -> None:
    outlines = _paths(np.zeros(48), np.zeros(48))
    shown = np.ones((48, 2), dtype=bool)
    shown[20:23, 1] = False
    done = stack_depths(outlines, shown, [1, 0], shot=SHOT)
    assert done.depth[-1].tolist() == [1, 0]
    assert not flips_in_sight(done.depth, outlines, shown)


def test_what_is_drawn_well_stays_in_every_frame() -> None:
    outlines = _paths(np.zeros(48), _out_and_back(20.0))
    done = stack_depths(outlines, np.ones((48, 2), dtype=bool), [0, 1], shot=SHOT)
    assert (done.depth == [0, 1]).all()


def test_a_flip_planted_in_plain_sight_is_found() -> None:
    outlines = _paths(np.zeros(48), np.zeros(48))
    depth = np.tile([0, 1], (48, 1))
    depth[30:] = [1, 0]
    assert flips_in_sight(depth, outlines, np.ones((48, 2), dtype=bool)) == [(30, 0, 1)]


def test_three_blades_that_never_part_stay_as_drawn_whatever_is_wished() -> None:
    # They never part, so whatever is wished they stay as drawn, and all of it is listed.
    blades = [rotate(box(-12, -2, 12, 2), 60 * i) for i in range(3)]
    outlines: list[list[BaseGeometry]] = [list(blades) for _ in range(48)]
    for wanted in itertools.permutations(range(3)):
        done = stack_depths(outlines, np.ones((48, 3), dtype=bool), wanted, shot=SHOT)
        assert (done.depth == [0, 1, 2]).all()
        asked = sum(wanted[j] < wanted[i] for i, j in itertools.combinations(range(3), 2))
        assert len(done.left) == asked


@pytest.mark.parametrize(
    ("graph", "layerings"),
    [(nx.path_graph(5), 16), (nx.cycle_graph(6), 62), (nx.complete_graph(4), 24)],
)
def test_as_many_robots_can_be_stacked_as_the_overlaps_have_acyclic_orientations(
    graph: nx.Graph, layerings: int
) -> None:
    # Stanley 1973; orientations and their cycles by networkx.
    n = graph.number_of_nodes()
    edges = sorted(graph.edges)
    acyclic = sum(
        nx.is_directed_acyclic_graph(
            nx.DiGraph(
                [(a, b) if f else (b, a) for (a, b), f in zip(edges, way, strict=True)]
            )
        )
        for way in itertools.product((True, False), repeat=len(edges))
    )
    assert acyclic == layerings
    # A disc a node and a disc an edge's end: those joined overlap, all others lie apart.
    angles = 2 * np.pi * np.arange(n) / n
    hubs = 100 * np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    shapes: list[BaseGeometry] = []
    for node in range(n):
        arms = [Point(*((hubs[node] + hubs[other]) / 2)).buffer(2) for other in graph[node]]
        shapes.append(Point(*hubs[node]).buffer(3).union(arms[0]).union(arms[-1]))
        for arm in arms:
            shapes[-1] = shapes[-1].union(arm)
    far = [translate(shape, 1000.0 * i, 0) for i, shape in enumerate(shapes)]
    outlines = [shapes if not 15 <= f < 30 else far for f in range(24 * 2)]
    orders = set()
    for wanted in itertools.permutations(range(n)):
        orders.add(tuple(wanted[a] > wanted[b] for a, b in sorted(graph.edges)))
    assert len(orders) == layerings
    some = sorted(orders)[:: max(1, layerings // 4)]
    for order in some:
        wanted = next(
            w for w in itertools.permutations(range(n))
            if tuple(w[a] > w[b] for a, b in edges) == order
        )  # fmt: skip
        done = stack_depths(outlines, np.ones((48, n), dtype=bool), wanted, shot=SHOT)
        assert not done.left
        last = done.depth[-1]
        assert tuple(last[a] > last[b] for a, b in edges) == order
