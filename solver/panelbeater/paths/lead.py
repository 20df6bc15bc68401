"""Pieces led past what they would sink into, float beside or pass over."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from panelbeater.effort import QUIET, Effort
from panelbeater.paths.clear import Clearance
from panelbeater.paths.crowd import Crowd
from panelbeater.paths.options import PathOptions
from panelbeater.paths.support import hold_together, still_wrong
from panelbeater.paths.way_round import lead_round
from panelbeater.terms.arrays import Points


def lead_pieces(
    crowd: Crowd,
    clear: Sequence[Clearance],
    first: int,
    last: int,
    options: PathOptions,
    effort: Effort = QUIET,
    *,
    fine: bool = True,
) -> Points:
    """Stage moves (n_frames, n_pieces, 2) from frame `first` to before `last`.

    A wish to keep `clear` that would leave a piece in the air or in the ground, or that no
    way is found for, is given up, so that all else is as if it had not been made.
    """
    kept = tuple(clear)
    while kept:
        effort.note(f"leading pieces round each other: {len(kept)} wishes")
        for frames in options.round_frames:
            led = lead_round(crowd, kept, first, last, options, frames)
            moves = led + hold_together(
                crowd.led(led), first, last, options, effort, fine=fine, clear=kept
            )
            wrong = still_wrong(crowd, moves, options, kept)
            if not wrong.any():
                return moves
        loose, unkept = np.split(wrong, [moves.shape[1]])
        left = tuple(
            pair
            for pair, is_broken in zip(kept, unkept, strict=True)
            if not (is_broken or loose[list(pair.givers)].any())
        )
        kept = left if len(left) < len(kept) else ()  # something else lost its hold
    return hold_together(crowd, first, last, options, effort, fine=fine)
