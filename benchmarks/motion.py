"""How scheduling grows with the number of pieces, on scenes made for it.

    python benchmarks/motion.py [--sizes 15 30 60 120 240] [--frames 72]

Pieces are tiles of a grid that fly to the fifteen regions in seeded directions, each
carried by its neighbours until it leaves. Prints a row a size with processor seconds,
departures and what was proved, then the exponent b of seconds ~ pieces^b (least squares on
the logarithms).
"""

from __future__ import annotations

import argparse
import sys
import time

import numpy as np
from shapely import box

from panelbeater.schedule import schedule_moves
from panelbeater.terms.assignment import Assignment, Cover
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
    return 0


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
