"""What is worth trying for what is wrong with a plan, in the trade's words."""

from __future__ import annotations

from itertools import chain, zip_longest

from panelbeater.stress import about_pieces, about_sight, about_time
from panelbeater.stress.case import Case
from panelbeater.stress.idea import Idea

MOST_IDEAS = 16
"""Tried for one plan; each costs a re-plan of about a second."""
SORTS = (
    about_pieces.corners,
    about_pieces.resized,
    about_time.longer,
    about_sight.hidden_landmarks,
    about_pieces.crowd,
    about_time.eased,
    about_pieces.seams,
    about_sight.kept_in_front,
    about_time.held,
    about_time.cues,
)
"""Sorts of ideas: one of each is tried before a second one of any."""


def ideas_for(case: Case) -> tuple[Idea, ...]:
    """The most promising things to try for what is wrong with this plan."""
    missed = {
        score.name: score
        for score in (*case.scores.layout, *case.scores.motion)
        if not score.on_target
    }
    rounds = zip_longest(*(sort(case, missed) for sort in SORTS))
    found: dict[object, Idea] = {}
    for idea in chain.from_iterable(rounds):
        if idea is not None:
            found.setdefault(idea.words, idea)
    return tuple(found.values())
