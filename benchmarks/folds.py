"""Folds bodies into containers that were made from a known fold, so that one exists.

    python benchmarks/folds.py [--seeds 10] [--fill 0.925]

A container is the outline of a compactly folded demo figure, drawn full size, let out until
the body fills the given share of it. Prints a row a container: seconds of processor time,
folds that differ, the leak by exact area and the shortest and thinnest limb of the best.
Exit status 1 when fewer than nine in ten are solved within 20 s.
"""

from __future__ import annotations

import argparse
import sys
import time
from functools import cache
from pathlib import Path

import numpy as np
import shapely

import panelbeater
from panelbeater.errors import NoFoldError
from panelbeater.figure import place_figure, read_figure
from panelbeater.fold import FoldOptions, body_leak, find_folds
from panelbeater.kinematics.chain import bodies_on_stage, skeleton_of
from panelbeater.kinematics.limits import turn_limits
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Fold, Pose

FIGURES = ("dock_hand", "rigger", "diver")
SECONDS = 20.0
LEAK_MAX = 0.001
N_DRAWS = 60
"""Random poses a container is chosen from: the one with the smallest hull."""


@cache
def figure_named(name: str) -> Figure:
    """A demo figure, 100 units tall."""
    drawn = Path(panelbeater.__file__).parent / "demo" / f"{name}.svg"
    return place_figure(read_figure(drawn), height=100.0, centre_x=0.0, ground=0.0)


def planted_container(figure: Figure, seed: int, fill: float) -> Shape:
    """A container that the full-sized body fills to `fill` in a fold we do not tell."""
    rng, skeleton = np.random.default_rng(seed), skeleton_of(figure)
    bodies = []
    for _ in range(N_DRAWS):
        bend = rng.uniform(-0.8, 0.8, len(skeleton.lengths)) * turn_limits()
        pose = Pose(np.zeros(2), skeleton.rest.turns + bend, skeleton.rest.scales)
        bodies.append(shapely.union_all(bodies_on_stage(skeleton, pose)))
    body = min(bodies, key=lambda shape: float(shape.convex_hull.area))
    tight, wide = 0.0, 0.1 * figure.height
    for _ in range(40):
        middle = (tight + wide) / 2
        full = body.area / body.buffer(middle).area > fill
        tight, wide = (middle, wide) if full else (tight, middle)
    container = body.buffer(wide)
    assert isinstance(container, shapely.Polygon)  # the bodies hang together
    return container


def solve(
    figure: Figure, seed: int, fill: float, options: FoldOptions | None = None
) -> tuple[tuple[Fold, ...], Shape, float]:
    """The folds found, the container, and seconds of processor time."""
    container = planted_container(figure, seed, fill)
    begun = time.process_time()
    try:
        rng = np.random.default_rng(seed)
        folds = find_folds(container, figure, rng=rng, options=options)
    except NoFoldError:
        folds = ()
    return folds, container, time.process_time() - begun


def main() -> int:
    """Parse, run, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--fill", type=float, default=0.925)
    options = parser.parse_args()
    print("container | seconds | folds | leak | shortest | thinnest")
    n_all = n_solved = n_three = 0
    for name in FIGURES:
        figure = figure_named(name)
        for seed in range(options.seeds):
            folds, container, seconds = solve(figure, seed, options.fill)
            leaks = [body_leak(skeleton_of(figure), f.pose, container) for f in folds]
            solved = bool(folds) and max(leaks) <= LEAK_MAX and seconds <= SECONDS
            n_all, n_solved = n_all + 1, n_solved + solved
            n_three += solved and len(folds) >= 3
            best = (
                f"{leaks[0]:.5f} | {folds[0].shortest:.2f} | {folds[0].thinnest:.2f}"
                if folds
                else "- | - | -"
            )
            print(f"{name} {seed} | {seconds:.1f} | {len(folds)} | {best}", flush=True)
    print(f"solved {n_solved} of {n_all}, three or more folds in {n_three}")
    return 0 if n_solved >= 0.9 * n_all else 1


if __name__ == "__main__":
    sys.exit(main())
