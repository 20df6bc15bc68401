"""How hard the eye works: groups at once, weighted by how fast they go."""

from __future__ import annotations

import numpy as np

from panelbeater.scores.limits import Limits
from panelbeater.scores.motion.bundles import bundle_counts, percentile_95
from panelbeater.scores.motion.drawings import Drawings
from panelbeater.scores.result import Score, Target


def load_of(bundles: float, speed_deg: float, limits: Limits) -> float:
    """Bundles / 16^(1 - v/24), v in degrees of view per second; no unit."""
    return float(bundles / limits.load_base ** (1.0 - speed_deg / limits.load_speed))


def score_load(drawings: Drawings) -> tuple[Score, ...]:
    """Tracking load: bundles / 16^(1 - v/24), v the mean speed of the movers.

    v in degrees of view per second with W = 32 degrees. Wanted: at most 1 in 95 % of frames
    (metrics.md; shape of the law: Alvarez & Franconeri 2007, Holcombe & Chen 2013; the
    constants are the project's).
    """
    tracks, limits = drawings.tracks, drawings.tracks.limits
    counts = bundle_counts(drawings)
    per_second = tracks.shot.fps / drawings.exposure * limits.view_deg / tracks.width
    loads = np.zeros(drawings.n_steps)
    for at in np.flatnonzero(counts):
        speed = float(drawings.length[at, drawings.moving[at]].mean()) * per_second
        loads[at] = load_of(float(counts[at]), speed, limits)
    series = drawings.per_frame(loads)
    value = percentile_95(np.array(series), limits.load_share)
    note = f"highest {max(series):.3g}"
    return (
        Score(
            "tracking load", value, "95 % of frames", Target(high=limits.load), series, note
        ),
    )
