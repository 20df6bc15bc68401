"""Pieces led past what they would sink into, float beside or pass over."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from panelbeater.effort import QUIET, Effort
from panelbeater.paths.clear import Clearance
from panelbeater.paths.crowd import Crowd
from panelbeater.paths.options import PathOptions
from panelbeater.paths.support import hold_together, still_wrong
from panelbeater.paths.way_round import clusters, lead_round
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
    way is found for, is tried over a longer way and then given up, so that all else is as
    if it had not been made.
    """
    n_windows = len(options.round_frames)
    windows = dict.fromkeys(range(len(clear)), 0)
    ways = dict[tuple[tuple[int, int], ...], Points]()
    while windows:
        effort.note(f"leading pieces round each other: {len(windows)} wishes")
        led = np.zeros((len(crowd.outlines), crowd.placed.shape[1], 2))
        for cluster in clusters(clear, list(windows)):
            key = tuple((wish, windows[wish]) for wish in cluster)
            if key not in ways:
                frames = options.round_frames[max(window for _, window in key)]
                pairs = [clear[wish] for wish in cluster]
                ways[key] = lead_round(crowd, pairs, first, last, options, frames)
            led += ways[key]
        kept = [clear[wish] for wish in windows]
        moves = led + hold_together(
            crowd.led(led), first, last, options, effort, fine=fine, clear=kept
        )
        wrong = still_wrong(crowd, moves, options, kept)
        if not wrong.any():
            return moves
        loose, unkept = np.split(wrong, [moves.shape[1]])
        blamed = {
            wish
            for wish, pair, is_broken in zip(windows, kept, unkept, strict=True)
            if is_broken or loose[list(pair.givers)].any()
        } or set(windows)
        tried = {wish: window + (wish in blamed) for wish, window in windows.items()}
        windows = {k: window for k, window in tried.items() if window < n_windows}
    return hold_together(crowd, first, last, options, effort, fine=fine)
