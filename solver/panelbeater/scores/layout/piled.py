"""What the layout wastes: pieces outside the figure, and pieces over pieces."""

from __future__ import annotations

from panelbeater.scores.layout.coverage import worn
from panelbeater.scores.overlay import less
from panelbeater.scores.result import Score
from panelbeater.scores.tracks import Tracks


def score_piled(tracks: Tracks) -> tuple[Score, ...]:
    """Spill and overlap, both as shares of the figure's area (metrics.md, layout scores).

    spill = area(visible pieces outside the figure) / area(figure);
    overlap = (sum of visible areas - area of their union) / area(figure).
    """
    cover = worn(tracks)
    outside = less(cover, tracks.figure).area
    total = float(tracks.area[-1][tracks.visible[-1]].sum())
    overlap = max(0.0, total - cover.area)
    return (
        Score("spill", float(outside / tracks.figure.area), "share"),
        Score("overlap", float(overlap / tracks.figure.area), "share"),
    )
