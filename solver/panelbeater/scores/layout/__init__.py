"""Layout scores: how well the vehicle's pieces dress the standing figure."""

from panelbeater.scores.layout.bend import score_bend
from panelbeater.scores.layout.coverage import score_coverage
from panelbeater.scores.layout.kept import score_kept, score_signature
from panelbeater.scores.layout.own_region import score_own_region
from panelbeater.scores.layout.piled import score_piled
from panelbeater.scores.layout.silhouette import score_silhouette
from panelbeater.scores.layout.symmetry import score_symmetry

__all__ = [
    "score_bend",
    "score_coverage",
    "score_kept",
    "score_own_region",
    "score_piled",
    "score_signature",
    "score_silhouette",
    "score_symmetry",
]
