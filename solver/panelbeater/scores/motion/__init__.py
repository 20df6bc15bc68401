"""Motion scores: can the eye follow the change, and does it move like drawn animation?"""

from panelbeater.scores.motion.arc import score_arc
from panelbeater.scores.motion.bare import score_bare
from panelbeater.scores.motion.bundles import score_movers
from panelbeater.scores.motion.drawings import Drawings, lay_drawings
from panelbeater.scores.motion.ease import score_ease
from panelbeater.scores.motion.hold import score_hold
from panelbeater.scores.motion.jerk import score_jerk
from panelbeater.scores.motion.landmark import score_landmarks
from panelbeater.scores.motion.load import score_load
from panelbeater.scores.motion.outline import score_outlines
from panelbeater.scores.motion.secrecy import score_secrecy
from panelbeater.scores.motion.step import score_judder, score_step

__all__ = [
    "Drawings",
    "lay_drawings",
    "score_arc",
    "score_bare",
    "score_ease",
    "score_hold",
    "score_jerk",
    "score_judder",
    "score_landmarks",
    "score_load",
    "score_movers",
    "score_outlines",
    "score_secrecy",
    "score_step",
]
