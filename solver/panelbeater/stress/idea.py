"""One idea: what to try for a plan, why, and how the animator would ask for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from panelbeater.scores import Score
from panelbeater.stress.trials import Trial

Missed: TypeAlias = Mapping[str, Score]
"""Scores that miss their target, by name."""


CROWD = ("bundles", "bundles at most", "tracking load")
"""Scores of how much there is to follow at once."""


@dataclass(frozen=True, slots=True, eq=False)
class Idea:
    """Something to try, in the trade's words, and the scores it is meant to help."""

    words: str
    why: str
    trial: Trial
    helps: tuple[str, ...]
    write: str = ""
    """The line of the brief or the piece list that asks for it; empty where none does."""
