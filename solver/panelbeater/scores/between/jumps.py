"""The order of the pieces changes at whole frames, at one moment: nobody may see it."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.between.moment import Fault
from panelbeater.scores.between.span import Span
from panelbeater.scores.seen import seen_overlap


def jumps(before: Span, after: Span) -> tuple[Fault, ...]:
    """Pairs that change their order where one frame ends and the next begins, while they
    overlap in plain sight on both sides of that moment. Nothing else needs a bound: between
    whole frames the order stands.
    """
    ends = (before.stop, after.start)
    views = [moment.view for moment in ends]
    seen = np.flatnonzero(views[0].visible & views[1].visible)
    ahead = [np.sign(v.depth[seen][:, None] - v.depth[seen][None]) for v in views]
    one, other = np.nonzero(np.triu(ahead[0] * ahead[1] < 0))
    for moment in ends:
        shapes = moment.shapes[seen]
        meet = shapely.intersects(shapes[one], shapes[other])
        one, other = one[meet], other[meet]
    out = []
    for i, j in zip(one.tolist(), other.tolist(), strict=True):
        share = min(
            seen_overlap(moment.shapes[seen], moment.view.depth[seen], i, j)
            for moment in ends
        )
        if share > views[0].allowed.pop:
            pair = (int(seen[i]), int(seen[j]))
            out.append((pair, f"change places over {share:.2g} of the smaller piece"))
    return tuple(out)
