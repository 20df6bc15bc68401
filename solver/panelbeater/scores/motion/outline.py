"""Whether outlines stay sound while pieces bend: none crosses itself, no area is lost."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.result import Score, Target
from panelbeater.scores.tracks import Tracks


def score_outlines(tracks: Tracks) -> tuple[Score, ...]:
    """Crossed outlines and area off the ramp, over all visible pieces and frames.

    Crossed: outlines in which an edge crosses another; count over pieces and frames, 0 is
    right. Area off the ramp: how far an area strays from the square of the stated scale
    times the area of the drawing that is shown; share, largest. A bent piece should keep
    within 0.02 (issue text; the thresholds are the project's).
    """
    shown = tracks.visible & (tracks.area > 0)
    if not shown.any():
        return ()
    raw = np.abs(shapely.area(tracks.drawn))
    crossed = shown & ~shapely.is_valid(tracks.drawn)
    crossed &= np.abs(raw - tracks.area) > tracks.limits.crossed * tracks.area
    ramp = tracks.scale**2 * tracks.own_area
    off = np.where(shown, np.abs(tracks.area - ramp) / ramp, 0.0)
    names = [name for k, name in enumerate(tracks.piece_ids) if crossed[:, k].any()]
    return (
        Score(
            "crossed outlines", float(crossed.sum()), "pieces and frames",
            Target(high=0.0), note=", ".join(names),
        ),
        Score("area off the ramp", float(off.max()), "share",
              Target(high=tracks.limits.off_ramp)),
    )  # fmt: skip
