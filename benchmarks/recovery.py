"""Robots cut along their regions, turned and set apart: how much is put together again?

    python -m benchmarks.recovery [--seeds 20] [--sizes 10 15 20 30 40] [--csv FILE]

The dock hand is cut into pieces that cannot change size or shape, so one layout covers all
of it. Below fifteen pieces hands, feet and the head belong to the limb above; beyond, the
largest piece is cut in two by a straight line in a random direction, again and again.
Cover counts and nothing else: no price on travel, tilt or balance.
"""

from __future__ import annotations

import argparse
import csv
import sys
import time
from collections.abc import Sequence
from dataclasses import astuple, dataclass, fields, replace
from pathlib import Path
from typing import cast

import numpy as np
import shapely
from shapely import LineString, Polygon, affinity, ops

from benchmarks.sources import DEMO
from panelbeater.assignment import AssignmentOptions, assign_pieces, offer_placements
from panelbeater.figure import place_figure, read_figure
from panelbeater.geometry.stage import laid_outline
from panelbeater.kinematics.chain import skeleton_of
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Allowance, Drawing, Piece, Shape
from panelbeater.terms.figure import BONE_IDS, Figure
from panelbeater.terms.pose import Fold

SIZES = (10, 15, 20, 30, 40)
GOOD = 0.995
RIGID = Allowance(scale_min=1.0, scale_max=1.0, stretch_max=1.0, bend_max=1.0)
COVER_ONLY = AssignmentOptions(
    travel_price=0.0, gap_price=0.0, turn_price=0.0, tilt_price=0.0, balance_price=0.0,
    twin_price=0.0,
)  # fmt: skip
ENDS = ("hand_l", "hand_r", "foot_l", "foot_r", "head")


@dataclass(frozen=True, slots=True, eq=False)
class Shuffled:
    """A figure and a vehicle of its pieces; the known answer covers all of the figure."""

    figure: Figure
    vehicle: Drawing
    home: tuple[tuple[str, Shape], ...]
    """Region and outline of each piece in the known answer."""


@dataclass(frozen=True, slots=True)
class Recovered:
    """How much of one shuffled robot was put together again, shares of its area."""

    n_pieces: int
    seed: int
    coverage: float
    own: float
    """Under pieces that were assigned to the region they lie on."""
    n_home: int
    """Pieces on the region they were cut from."""
    seconds: float


def shuffled(n_pieces: int, seed: int) -> Shuffled:
    """The dock hand as `n_pieces` (10 or at least 15), each turned and set apart."""
    rng = np.random.default_rng(seed)
    standing = read_figure(DEMO / "dock_hand.svg")
    figure = place_figure(standing, height=100.0, centre_x=0.0, ground=0.0)
    if n_pieces < len(BONE_IDS):
        figure = _without_ends(figure)
    home: list[tuple[str, Shape]] = [
        (bone.id, _tidy(bone.region)) for bone in figure.bones
            if bone.region.area > 0.1]  # fmt: skip
    while len(home) < n_pieces:
        largest = max(range(len(home)), key=lambda i: home[i][1].area)
        region, shape = home[largest]
        home[largest : largest + 1] = [(region, part) for part in _halves(shape, rng)]
    pieces = []
    for i, (_, shape) in enumerate(home):
        turned = affinity.rotate(shape, rng.uniform(-180, 180), origin="centroid")
        x, y = turned.centroid.coords[0]
        apart = affinity.translate(turned, 40 * (i % 8) - x, 40 * (i // 8) - y)
        pieces.append(Piece(f"cut_{i:02d}", "panel", apart, i, "", allowance=RIGID))
    silhouette = cast(Shape, shapely.union_all([piece.outline for piece in pieces]))
    return Shuffled(figure, Drawing(tuple(pieces), silhouette), tuple(home))


def _without_ends(figure: Figure) -> Figure:
    """Hands, feet and head are regions of next to nothing: the limb above has the rest."""
    bones = {bone.id: bone for bone in figure.bones}
    for name in ENDS:
        end = bones[name]
        above = bones[str(end.parent)]
        speck = end.region.representative_point().buffer(0.05, quad_segs=1)
        whole = shapely.union_all([end.region, above.region], grid_size=1e-6) - speck
        bones[name] = replace(end, region=speck)
        bones[above.id] = replace(above, region=cast(Shape, whole))
    return replace(figure, bones=tuple(bones.values()))


def _tidy(region: Shape) -> Polygon:
    """Without the hairs that regions share along their seams."""
    parts = shapely.get_parts(shapely.set_precision(region, 1e-4))
    return cast(Polygon, max(parts, key=shapely.area))


def _halves(shape: Shape, rng: np.random.Generator) -> Sequence[Shape]:
    """Two parts of a shape, cut through its middle; the smaller no crumb."""
    middle, reach = shape.centroid, shape.length
    while True:
        angle = rng.uniform(0, np.pi)
        way = reach * np.array([np.cos(angle), np.sin(angle)])
        line = LineString([(middle.x - way[0], middle.y - way[1]),
                           (middle.x + way[0], middle.y + way[1])])  # fmt: skip
        parts = ops.split(shape, line).geoms
        if len(parts) == 2 and min(part.area for part in parts) > 0.3 * shape.area:
            return list(cast(Sequence[Shape], parts))


def put_together(case: Shuffled, options: AssignmentOptions = COVER_ONLY) -> Assignment:
    """The layout found, with no fold in the way."""
    fold = Fold(skeleton_of(case.figure).rest, 0.0, 1.0, 1.0)
    pool = offer_placements(case.vehicle, case.figure, ground=0.0, options=options)
    return assign_pieces(case.vehicle, case.figure, fold, pool, seed=1)


def recovered(
    n_pieces: int, seed: int, options: AssignmentOptions = COVER_ONLY
) -> Recovered:
    """One shuffled robot, measured on exact outlines."""
    case, begun = shuffled(n_pieces, seed), time.process_time()
    layout = put_together(case, options)
    seconds = time.process_time() - begun
    both = zip(case.vehicle.pieces, layout.covers, strict=True)
    laid = [laid_outline(piece, cover) for piece, cover in both]
    figure, own = case.figure, 0.0
    for bone in figure.bones:
        mine = [outline for outline, cover in zip(laid, layout.covers, strict=True)
                if cover.region == bone.id]  # fmt: skip
        own += shapely.union_all(mine).intersection(bone.region).area
    covered = shapely.union_all(laid).intersection(figure.silhouette).area
    n_home = sum(cover.region == region for cover, (region, _) in
                 zip(layout.covers, case.home, strict=True))  # fmt: skip
    total = figure.silhouette.area
    return Recovered(n_pieces, seed, covered / total, own / total, n_home, seconds)


def main(arguments: list[str] | None = None) -> int:
    """Put shuffled robots together, print a row each and what was reached by size."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seeds", type=int, default=20)
    parser.add_argument("--sizes", type=int, nargs="+", default=SIZES)
    parser.add_argument("--csv", type=Path)
    asked = parser.parse_args(arguments)
    rows: list[Recovered] = []
    for n in asked.sizes:
        for seed in range(asked.seeds):
            rows.append(recovered(n, seed))
            print(_told(rows[-1]), flush=True)
            if asked.csv:
                _write(asked.csv, rows)
    for n in asked.sizes:
        mine = [row for row in rows if row.n_pieces == n]
        n_good = sum(row.coverage >= GOOD for row in mine)
        least, mean = min(r.coverage for r in mine), np.mean([r.coverage for r in mine])
        seconds = np.mean([row.seconds for row in mine])
        print(f"{n} pieces: {n_good} of {len(mine)} at {GOOD:.1%}, mean {mean:.2%}, "
              f"least {least:.2%}, {seconds:.1f} s each")  # fmt: skip
    return 0 if all(row.coverage >= GOOD for row in rows) else 1


def _told(row: Recovered) -> str:
    return (f"{row.n_pieces} pieces, seed {row.seed}: coverage {row.coverage:.2%}, "
            f"own {row.own:.2%}, {row.n_home} at home, {row.seconds:.1f} s")  # fmt: skip


def _write(path: Path, rows: Sequence[Recovered]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([field.name for field in fields(Recovered)])
        writer.writerows(astuple(row) for row in rows)


if __name__ == "__main__":
    sys.exit(main())
