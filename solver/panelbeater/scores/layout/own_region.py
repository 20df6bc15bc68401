"""How much of each region is covered by the pieces meant for it: what survives bending."""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.layout.coverage import covered_share
from panelbeater.scores.overlay import joined, less, made_valid
from panelbeater.scores.result import Score, Target
from panelbeater.scores.tracks import Tracks


def score_own_region(tracks: Tracks) -> tuple[Score, ...]:
    """Own-region coverage, by region too, and spanning.

    own-region coverage = mean over regions, weighted by area, of
    area(pieces assigned to the region and region) / area(region); wanted 0.65 (project).
    spanning = share of a piece's area beyond its own region grown by 0.02 H: the worst
    piece, and the mean weighted by area. Definitions: metrics.md, layout scores.
    """
    regions = {
        region.id: made_valid(region.outline)
        for region in sorted(tracks.shot.regions, key=lambda region: region.id)
        if region.outline.area > 0
    }
    if not regions:
        return ()
    at_of = {name: at for at, name in enumerate(tracks.piece_ids)}
    meant: dict[str, list[int]] = {name: [] for name in regions}
    for piece in tracks.shot.frames[-1].pieces:
        if piece.visible and piece.region in meant:
            meant[piece.region].append(at_of[piece.id])
    outlines = tracks.outlines[-1]
    shares = {
        name: covered_share(joined(outlines[meant[name]]), regions[name])
        for name in regions
    }
    sizes = [region.area for region in regions.values()]
    mean = float(np.average(list(shares.values()), weights=sizes))
    wanted = Target(low=tracks.limits.own_region)
    scores = [Score("own-region coverage", mean, "share", wanted)]
    scores += _spanning(tracks, {at: regions[r] for r in regions for at in meant[r]})
    scores += [
        Score(f"own cover of {name}", value, "share") for name, value in shares.items()
    ]
    return tuple(scores)


def _spanning(tracks: Tracks, region_of: dict[int, shapely.Geometry]) -> list[Score]:
    if not region_of:
        return []
    at = sorted(region_of)
    margin = tracks.limits.spanning_margin * tracks.height
    grown = shapely.buffer([region_of[i] for i in at], margin)
    size = tracks.area[-1, at]
    beyond = shapely.area(less(tracks.outlines[-1, at], grown)) / size
    worst = int(np.argmax(beyond))
    mean = float(np.average(beyond, weights=size))
    return [
        Score("spanning", mean, "share", note="of the pieces' area"),
        Score("spanning at worst", float(beyond[worst]), "share",
              note=tracks.piece_ids[at[worst]]),
    ]  # fmt: skip
