"""Do pieces that were asked to go round something never pass over it?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import shapely

from panelbeater.scores.arrays import Flags, Shapes
from panelbeater.scores.limits import STANDARD, Limits
from panelbeater.scores.overlay import shared
from panelbeater.scores.rules import RuleBreak
from panelbeater.scores.shot import Frame, Shot
from panelbeater.scores.words import frames_in_words

RULE = "keeps clear"


def judge_clear(
    shot: Shot,
    half_frames: Shot,
    wanted: Mapping[str, Sequence[str]],
    limits: Limits = STANDARD,
) -> tuple[RuleBreak, ...]:
    """Wishes to go round a piece, a region's bone or a limb that the frames do not keep.

    Two that overlap in the first frame may do so until they part, two that overlap in the
    last from when they meet for good; else by no more than two pieces at one depth may
    (metrics.md, clash), in any frame or half frame.
    """
    frames = sorted((*shot.frames, *half_frames.frames), key=lambda frame: frame.frame)
    x0, y0, x1, y1 = shapely.total_bounds([shot.vehicle, shot.figure])
    allowed = limits.clash * ((x1 - x0) ** 2 + (y1 - y0) ** 2)
    return tuple(_broken(frames, wanted, allowed))


def barred(meets: Flags) -> Flags:
    """(n_moments,), between when two first part and when they last are apart."""
    apart = np.flatnonzero(~meets)
    out = np.zeros_like(meets)
    if len(apart):
        out[apart[0] : apart[-1] + 1] = True
    return out


def _broken(
    frames: Sequence[Frame], wanted: Mapping[str, Sequence[str]], allowed: float
) -> Iterator[RuleBreak]:
    for piece, others in sorted(wanted.items()):
        one = _shapes(frames, piece)
        for other in others:
            both = shapely.area(shared(one, _shapes(frames, other)))
            meets = both > allowed
            crosses = np.flatnonzero(meets & barred(meets))
            if meets.all():
                detail = "overlap in every frame: give one of them another region"
            elif len(crosses):
                when = frames_in_words([frames[k].frame for k in crosses.tolist()])
                detail = (
                    f"{when}: no way round was found that leaves nothing in the air; pin "
                    "one of them to another region, or give the shot more frames"
                )
            else:
                continue
            yield RuleBreak(RULE, (piece, other), detail)


def _shapes(frames: Sequence[Frame], name: str) -> Shapes:
    """(n_frames,), a piece where it is seen, or the bare bones of a region or limb."""
    out = np.full(len(frames), None, dtype=object)
    for k, frame in enumerate(frames):
        mine = [p.outline for p in frame.pieces if p.id == name and p.visible]
        if not any(p.id == name for p in frame.pieces):
            mine = [b.outline for b in frame.bones if name in (b.id, b.controller)]
        out[k] = shapely.union_all(mine)
    return out
