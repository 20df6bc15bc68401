"""How much of the body shows bare while the vehicle becomes the robot?"""

from __future__ import annotations

import numpy as np

from panelbeater.scores.overlay import joined, less
from panelbeater.scores.result import Score
from panelbeater.scores.tracks import Tracks


def score_bare(tracks: Tracks) -> tuple[Score, ...]:
    """Bare body: area of the body that no visible piece covers / area of the figure.

    The value is what 95 % of the frames keep, the series every frame's. A body that shows
    more looks undressed, and dressed from afar. No target: nobody has said how much is too
    much, and on the plans looked at 0.10 to 0.12 read well.
    """
    shown = np.zeros(len(tracks.frames))
    for row, repeats in enumerate(tracks.repeats):
        if repeats:
            shown[row] = shown[row - 1]
            continue
        pieces = tracks.outlines[row, tracks.visible[row]]
        bare = less(joined(tracks.bones[row]), joined(pieces))
        shown[row] = bare.area / tracks.figure.area
    worst = int(np.argmax(shown))
    note = f"highest {shown[worst]:.2f}, frame {tracks.frames[worst] + 1:.0f}"
    return (
        Score(
            "bare body", float(np.percentile(shown, 95)), "share of the figure",
            series=tuple(shown.tolist()), note=note,
        ),
    )  # fmt: skip
