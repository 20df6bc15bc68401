"""How much of the figure the pieces cover when the shot ends."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.overlay import joined, made_valid, shared
from panelbeater.scores.result import Score, Target
from panelbeater.scores.tracks import Tracks
from panelbeater.terms.drawing import Shape


def worn(tracks: Tracks) -> Shape:
    """Union of the visible pieces in the last frame."""
    return joined(tracks.outlines[-1][tracks.visible[-1]])


def dressed(tracks: Tracks) -> Shape:
    """Union of visible pieces and bone shapes in the last frame: what the viewer sees."""
    return joined(
        np.concatenate([tracks.outlines[-1][tracks.visible[-1]], tracks.bones[-1]])
    )


def covered_share(cover: Shape, ground: Shape) -> float:
    """area(cover and ground) / area(ground), 0 to 1."""
    return float(shared(cover, ground).area / ground.area)


def score_coverage(tracks: Tracks) -> tuple[Score, ...]:
    """Coverage of the figure, of each region, with the body, and its area bound.

    coverage = area(visible pieces and figure) / area(figure); the bound is
    min(1, sum of input areas at the largest scale / area(figure)). Ratios; wanted 0.75
    (project). Definitions: metrics.md, layout scores.
    """
    cover = worn(tracks)
    wanted = Target(low=tracks.limits.coverage)
    largest = float((shapely.area(tracks.inputs) * tracks.allowance[:, 1] ** 2).sum())
    bound = min(1.0, largest / tracks.figure.area)
    by_region = [
        (region.id, covered_share(cover, made_valid(region.outline)))
        for region in sorted(tracks.shot.regions, key=lambda region: region.id)
        if region.outline.area > 0
    ]
    scores = [
        Score("coverage", covered_share(cover, tracks.figure), "share", wanted),
        Score("coverage area bound", bound, "share", note="all pieces at their largest"),
        Score("coverage with body", covered_share(dressed(tracks), tracks.figure), "share"),
    ]
    if by_region:
        least = min(by_region, key=lambda pair: pair[1])
        scores.append(Score("least covered region", least[1], "share", note=least[0]))
    scores += [Score(f"coverage of {name}", value, "share") for name, value in by_region]
    return tuple(scores)
