"""Times the layout stage after one changed pin: from the earlier layout, and from scratch.

    python benchmarks/again.py [VEHICLE FIGURE] [--pins 3] [--fresh]

Each of the largest pieces on limbs is pinned, one at a time, to the same region on the
other side. Prints a row a pin: pieces free to move, processor seconds and worth from the
earlier layout, and with --fresh the same from scratch. Placements are found beforehand,
as a session that keeps them has; `plan --from` finds those of the free pieces anew.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import replace
from pathlib import Path

from panelbeater import demo_drawings
from panelbeater.assignment import Pool, assign_again, assign_pieces, free_pieces
from panelbeater.shot import Request, prepare_shot
from panelbeater.terms.drawing import Drawing, Wishes
from panelbeater.terms.figure import BONE_IDS

SIDES = {"_l": "_r", "_r": "_l"}


def main() -> None:
    """Parse, lay once, then pin and lay again."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("drawings", type=Path, nargs="*")
    parser.add_argument("--pins", type=int, default=3)
    parser.add_argument("--fresh", action="store_true", help="also lay from scratch")
    options = parser.parse_args()
    vehicle, figure = options.drawings or demo_drawings()
    ready = prepare_shot(Request(vehicle, figure))
    fold, pool = ready.folds[0], ready.pool
    begun = time.process_time()
    first = assign_pieces(ready.drawing, ready.figure, fold, pool, seed=1)
    print(f"{len(first.covers)} pieces, {len(pool.placements)} placements, first layout "
          f"{time.process_time() - begun:.2f} s, worth {first.value:.4f}")  # fmt: skip
    print("pin | free | again s | worth | fresh s | worth")
    where = {cover.piece: cover.region for cover in first.covers}
    sided = [p for p in ready.drawing.pieces if where[p.id][-2:] in SIDES]
    for piece in sorted(sided, key=lambda p: -p.outline.area)[: options.pins]:
        region = where[piece.id][:-2] + SIDES[where[piece.id][-2:]]
        asked = _pinned(ready.drawing, piece.id, region)
        free = free_pieces(asked, first)
        begun = time.process_time()
        again = assign_again(asked, ready.figure, fold, pool, first, seed=1)
        row = [f"{piece.id} to {region}", str(len(free)),
               f"{time.process_time() - begun:.2f}", f"{again.value:.4f}"]  # fmt: skip
        if options.fresh:
            begun = time.process_time()
            fresh = assign_pieces(
                asked, ready.figure, fold, _pinned_pool(asked, pool), seed=1
            )
            row += [f"{time.process_time() - begun:.2f}", f"{fresh.value:.4f}"]
        print(" | ".join(row), flush=True)


def _pinned(drawing: Drawing, name: str, region: str) -> Drawing:
    pieces = tuple(
        replace(p, wishes=Wishes(pin=region)) if p.id == name else p for p in drawing.pieces
    )
    return replace(drawing, pieces=pieces)


def _pinned_pool(drawing: Drawing, pool: Pool) -> Pool:
    """Only the placements that the pins allow."""
    pins = [piece.wishes.pin for piece in drawing.pieces]
    placements = tuple(
        place for place in pool.placements
        if pins[place.piece] in (None, BONE_IDS[place.region])
    )  # fmt: skip
    return replace(pool, placements=placements)


if __name__ == "__main__":
    main()
