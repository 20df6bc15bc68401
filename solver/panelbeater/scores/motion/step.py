"""Do pieces step so far between drawings that they strobe, or pan so that they judder?"""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.motion.bundles import percentile_95
from panelbeater.scores.motion.drawings import Drawings
from panelbeater.scores.result import Score, Target
from panelbeater.terms.arrays import Floats


def step_ratios(drawings: Drawings) -> Floats:
    """(n_steps, n_pieces), displacement / extent along it; 0 where a piece rests."""
    out = np.zeros(drawings.length.shape)
    for at, piece in zip(*np.nonzero(drawings.moving), strict=True):
        way = drawings.step[at, piece] / drawings.length[at, piece]
        shape = drawings.tracks.outlines[drawings.rows[at], piece]
        extent = float(np.ptp(shapely.get_coordinates(shape) @ way))
        out[at, piece] = drawings.length[at, piece] / extent
    return out


def score_step(drawings: Drawings) -> tuple[Score, ...]:
    """Step: displacement between drawings / extent of the piece along its motion.

    95th percentile over moving pieces and steps, wanted at most 0.5; and the share of them
    above 1, which strobe (metrics.md; common practice with no source). Series: largest.
    """
    limits = drawings.tracks.limits
    ratios = step_ratios(drawings)
    moving = ratios[drawings.moving]
    strobes = float((moving > limits.step_strobe).mean()) if len(moving) else 0.0
    series = drawings.per_frame(ratios.max(axis=1))
    return (
        Score("step", percentile_95(moving), "of the piece's extent, 95 % of moves",
              Target(high=limits.step_good), series),
        Score("strobing", strobes, "share of moves"),
    )  # fmt: skip


def score_judder(drawings: Drawings) -> tuple[Score, ...]:
    """Judder share: moves of 0.6 to 2.1 % W per drawing, weighted by area.

    Share of the summed area of moving pieces over all steps (metrics.md; the lower edge is
    the seven-second pan rule; weighting over moving pieces only is the project's).
    """
    tracks, limits = drawings.tracks, drawings.tracks.limits
    area = tracks.area[drawings.rows[:-1]] * drawings.moving
    low, high = limits.judder_low * tracks.width, limits.judder_high * tracks.width
    between = (drawings.length >= low) & (drawings.length <= high)
    total = float(area.sum())
    share = float(area[between].sum()) / total if total > 0 else 0.0
    return (Score("judder share", share, "of moving area"),)
