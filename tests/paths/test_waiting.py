"""What carries the pieces of the risen vehicle."""

from __future__ import annotations

import numpy as np
from shapely import box
from shapely.affinity import translate

from panelbeater.paths.waiting import find_waiting


def test_a_bone_holds_a_piece_until_it_first_lets_go() -> None:
    pieces = [box(0, 0, 10, 10), box(10, 0, 20, 10), box(40, 0, 50, 10)]
    lift = np.zeros((20, 2))
    lift[5:, 1] = -30.0
    # The bone goes up with the vehicle, steps aside at frame 12 and comes back at 15.
    bone = box(2, 2, 4, 4)
    bodies = [
        [translate(bone, 200.0 * (12 <= frame < 15), float(lift[frame, 1]))]
        for frame in range(20)
    ]
    waiting = find_waiting(pieces, lift, bodies, 400.0)
    assert waiting.held == (11, -1, -1)
    assert waiting.touching == ((0, 1),)


def test_a_bone_that_never_leaves_holds_to_the_end() -> None:
    waiting = find_waiting(
        [box(0, 0, 10, 10)], np.zeros((8, 2)), [[box(1, 1, 2, 2)]] * 8, 9.0
    )
    assert waiting.held == (7,)
