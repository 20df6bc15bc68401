"""What trying an idea gave: which scores came nearer their target, and what it cost."""

from __future__ import annotations

from dataclasses import dataclass

from panelbeater.stress.case import Case
from panelbeater.stress.ideas import Idea
from panelbeater.stress.trials import Figures

WORTH = 0.03
"""Share of the way to its target a score must come nearer before advice is given."""
DEAR = 0.5
"""Advice is dropped when other scores together move away by this much of what is won."""


@dataclass(frozen=True, slots=True)
class Gain:
    """One score before and after."""

    score: str
    before: float
    after: float
    nearer: float
    """Share of the miss that is made good; negative: worse, in the same measure."""


@dataclass(frozen=True, slots=True, eq=False)
class Advice:
    """An idea and what trying it gave."""

    idea: Idea
    gains: tuple[Gain, ...]
    """Scores that came nearer their target, most first."""
    losses: tuple[Gain, ...]
    """Scores that moved away, or left their target."""
    mended: tuple[str, ...]
    """Promises that are kept now."""
    broken: tuple[str, ...]
    """Promises that broke."""
    failed: str = ""

    @property
    def helps(self) -> bool:
        """True when it is worth doing: wins more than it costs and breaks nothing."""
        if self.failed or self.broken:
            return False
        won = sum(gain.nearer for gain in self.gains) + len(self.mended)
        lost = -sum(gain.nearer for gain in self.losses)
        return won > WORTH and lost <= DEAR * won

    @property
    def worth(self) -> float:
        """By which advice is put in order."""
        return sum(gain.nearer for gain in (*self.gains, *self.losses)) + len(self.mended)


def weigh(case: Case, idea: Idea, before: Figures, after: Figures) -> Advice:
    """What the trial changed, counted in shares of each score's way to its target."""
    if after.failed:
        return Advice(idea, (), (), (), (), after.failed)
    gains, losses = [], []
    for score in (*case.scores.layout, *case.scores.motion):
        if score.target is None or score.name not in after.values:
            continue
        was, now = before.values[score.name], after.values[score.name]
        missed = score.target.miss(was)
        scale = max(missed, 0.25 * abs(score.target.edge), 1e-9)
        nearer = (missed - score.target.miss(now)) / scale
        if nearer > 0.005:
            gains.append(Gain(score.name, was, now, nearer))
        elif nearer < -0.005:
            losses.append(Gain(score.name, was, now, nearer))
    return Advice(
        idea,
        tuple(sorted(gains, key=lambda g: -g.nearer)),
        tuple(sorted(losses, key=lambda g: g.nearer)),
        tuple(n for n, kept in after.kept.items() if kept and not before.kept[n]),
        tuple(n for n, kept in after.kept.items() if not kept and before.kept[n]),
    )
