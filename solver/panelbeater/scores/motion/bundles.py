"""How many things move at once, as the eye counts them."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from panelbeater.scores.motion.drawings import Drawings
from panelbeater.scores.result import Score, Target
from panelbeater.terms.arrays import Floats, Ints


@lru_cache(maxsize=1)
def bundle_counts(drawings: Drawings) -> Ints:
    """(n_steps,), connected components of movers that are coherent; counted once a shot."""
    counts = np.zeros(drawings.n_steps, dtype=np.int64)
    for at in range(drawings.n_steps):
        movers = np.flatnonzero(drawings.moving[at])
        if len(movers):
            graph = csr_array(drawings.coherent(at, movers).astype(np.int8))
            counts[at] = connected_components(graph, directed=False)[0]
    return counts


def percentile_95(values: Floats, share: float = 0.95) -> float:
    """Smallest value that at least `share` of the values do not exceed; 0 for none."""
    if len(values) == 0:
        return 0.0
    return float(np.quantile(values, share, method="inverted_cdf"))


def score_movers(drawings: Drawings) -> tuple[Score, ...]:
    """Movers and bundles: pieces, and groups of pieces, that move at once.

    A piece moves when its centroid goes more than 0.001 W between drawings. Bundles are
    connected components of movers whose velocities, or velocities against the rigid motion
    of the bone they share, differ by at most 0.25 of the largest speed. Wanted: 95th
    percentile over frames at most 4, maximum at most 6 (metrics.md; about four can be
    followed: Pylyshyn & Storm 1988; groups count as one: Franconeri et al. 2004).
    """
    limits = drawings.tracks.limits
    movers = drawings.per_frame(drawings.moving.sum(axis=1).astype(np.float64))
    bundles = drawings.per_frame(bundle_counts(drawings).astype(np.float64))
    p95 = percentile_95(np.array(bundles))
    return (
        Score("movers", max(movers), "pieces at most at once", series=movers),
        Score(
            "bundles",
            p95,
            "groups, 95 % of frames",
            Target(high=limits.bundles_p95),
            bundles,
        ),
        Score("bundles at most", max(bundles), "groups", Target(high=limits.bundles_max)),
    )
