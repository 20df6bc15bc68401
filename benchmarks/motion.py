"""How scheduling and stacking grow with the number of pieces, on scenes made for it.

    python benchmarks/motion.py [--sizes 15 30 60 120 240] [--frames 72]

Pieces are tiles of a grid that fly to the fifteen regions in seeded directions, each
carried by its neighbours until it leaves. Prints a row a size with processor seconds,
departures and what was proved, then the exponent b of seconds ~ pieces^b (least squares on
the logarithms). Then the same tiles are stacked while they cross over to shuffled places,
an eighth of them wished to the front, and 40 pieces of 64 corners are bent through 48
frames.
"""

from __future__ import annotations

import argparse
import sys
import time

import numpy as np
import shapely
from shapely import Point, box
from shapely.affinity import translate

from panelbeater.geometry.bending import bend_shape
from panelbeater.geometry.frames import map_shape, rigid
from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.paths.depth import meetings, stack_meetings
from panelbeater.schedule import schedule_moves
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.bend import Bend
from panelbeater.terms.drawing import Drawing, Piece
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action, Pose
from panelbeater.terms.timing import FrameSpan, Schedule, ShotOptions

COLUMNS = 12
TILE = 10.0


def main() -> int:
    """Parse, run, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=int, nargs="+", default=[15, 30, 60, 120, 240])
    parser.add_argument("--frames", type=int, default=72)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    seconds = []
    print("pieces | departures | processor seconds | proof")
    for n_pieces in options.sizes:
        begun = time.process_time()
        schedule = timed(n_pieces, options.frames, options.seed)
        seconds.append(time.process_time() - begun)
        departures = len({(move.start, move.end) for move in schedule.moves})
        print(f"{n_pieces} | {departures} | {seconds[-1]:.2f} | {schedule.proof}")
        sys.stdout.flush()
    if len(seconds) > 1:
        print(f"seconds ~ pieces^{exponent(options.sizes, seconds):.2f}")
    print("\npieces | processor seconds to stack | proof")
    for n_pieces in options.sizes:
        begun = time.process_time()
        proof = restacked(n_pieces, options.frames, options.seed)
        print(f"{n_pieces} | {time.process_time() - begun:.2f} | {proof}", flush=True)
    begun = time.process_time()
    n_bent = bent_through(n_pieces=40, n_frames=48)
    print(f"\n{n_bent} in-betweens: {time.process_time() - begun:.2f} processor seconds")
    return 0


def restacked(n_pieces: int, n_frames: int, seed: int) -> str:
    """What was proven of the order of tiles that cross over to each other's places."""
    rng = np.random.default_rng(seed)
    tiles = [_tile(i).outline for i in range(n_pieces)]
    first = shapely.buffer(tiles, TILE / 4, join_style="mitre")  # like scales, overlapping
    corners = shapely.get_coordinates(shapely.centroid(first))
    way = corners[rng.permutation(n_pieces)] * (0.7, 1.4) - corners  # they end heaped up
    shares = minimum_jerk(np.linspace(0, 1, n_frames))
    rows = [
        [translate(tile, *(share * move)) for tile, move in zip(first, way, strict=True)]
        for share in shares
    ]
    wanted = np.arange(n_pieces)
    wanted[rng.permutation(n_pieces)[: n_pieces // 8]] += (
        n_pieces  # these come to the front
    )
    wanted = np.argsort(np.argsort(wanted)).tolist()
    return stack_meetings(meetings(rows), range(n_pieces), lambda _: wanted).proof


def bent_through(n_pieces: int, n_frames: int) -> int:
    """How many outlines were bent and placed."""
    bend = Bend(axis=0.3, curvature=0.08, taper=0.01)
    disc = Point(0, 0).buffer(TILE, quad_segs=16)
    turns = rigid(np.zeros((n_frames, 2)), np.linspace(0, 1, n_frames))
    shapes = [
        map_shape(turns[frame], bend_shape(bend, disc, frame / (n_frames - 1)))
        for _ in range(n_pieces)
        for frame in range(n_frames)
    ]
    return len(shapes)


def timed(n_pieces: int, n_frames: int, seed: int) -> Schedule:
    """The schedule of one scene."""
    rng = np.random.default_rng(seed)
    shot = ShotOptions(n_frames=n_frames, seed=seed)
    pieces = tuple(_tile(i) for i in range(n_pieces))
    drawing = Drawing(pieces, box(0, 0, TILE * COLUMNS, TILE * (n_pieces // COLUMNS + 1)))
    covers = tuple(
        Cover(p.id, BONE_IDS[i % len(BONE_IDS)], np.eye(3), 1.0, 1.0, 0.0, "made up")
        for i, p in enumerate(pieces)
    )
    span = shot.moving
    room = span.stop - span.start
    spans = tuple(
        FrameSpan(span.start, span.start + round(room * (0.3 + 0.4 * i / len(BONE_IDS))))
        for i in range(len(BONE_IDS))
    )
    still = Pose(np.zeros(2), np.zeros(len(BONE_IDS)), np.ones((len(BONE_IDS), 2)))
    return schedule_moves(
        drawing,
        Assignment(covers, 0.0, 0.0, "made up", n_pieces),
        Action(still, spans),
        rng.normal(0.0, 0.2, (n_pieces, 2)),
        shot=shot,
    )


def exponent(sizes: list[int], seconds: list[float]) -> float:
    """Growth b of seconds ~ sizes^b."""
    return float(np.polyfit(np.log(sizes), np.log(np.maximum(seconds, 1e-3)), 1)[0])


def _tile(i: int) -> Piece:
    x, y = TILE * (i % COLUMNS), TILE * (i // COLUMNS)
    return Piece(f"tile_{i:03d}", "panel", box(x, y, x + TILE, y + TILE), i, "<g/>")


if __name__ == "__main__":
    sys.exit(main())
