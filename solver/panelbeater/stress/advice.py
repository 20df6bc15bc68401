"""What trying an idea gave: which scores came nearer their target, and what it cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from panelbeater.scores import STANDARD, Limits, Score
from panelbeater.stress.case import Case
from panelbeater.stress.idea import Idea
from panelbeater.stress.trials import Figures, Trial

WATCHED = {
    "coverage": 0.2,
    "own-region coverage": 0.2,
    "kept vehicle": 0.2,
    "spill": -0.1,
}
"""Scores that advice may not spoil, though they have no target or meet it: the fall (the
rise, if negative) that counts as much as a whole target missed."""


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
    against: tuple[str, ...] = ()
    """Wishes for the layout that were met before and are not now."""
    failed: str = ""
    limits: Limits = STANDARD
    """What it takes to be given."""

    @property
    def helps(self) -> bool:
        """True when it is worth doing: wins more than it costs and breaks nothing."""
        if self.failed or self.broken:
            return False
        won = sum(gain.nearer for gain in self.gains) + len(self.mended)
        enough = won > self.limits.advice_worth
        return enough and self._lost <= self.limits.advice_dear * won

    @property
    def is_trade(self) -> bool:
        """True when it wins much and costs much: for the animator to choose."""
        if self.helps or self.failed or self.broken:
            return False
        return sum(gain.nearer for gain in self.gains) >= self.limits.advice_trade

    @property
    def worth(self) -> float:
        """By which advice is put in order."""
        return sum(gain.nearer for gain in self.gains) + len(self.mended) - self._lost

    @property
    def _lost(self) -> float:
        against = self.limits.advice_against * len(self.against)
        return against - sum(gain.nearer for gain in self.losses)


def weigh(case: Case, idea: Idea, before: Figures, after: Figures) -> Advice:
    """What the trial changed, counted in shares of each score's way to its target."""
    if after.failed:
        return Advice(idea, (), (), (), (), failed=after.failed)
    gains, losses = [], []
    for score in (*case.scores.layout, *case.scores.motion):
        if score.name not in after.values or score.name not in before.values:
            continue
        was, now = before.values[score.name], after.values[score.name]
        nearer = _nearer(score, was, now)
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
        tuple(rule for rule in after.rules if rule not in before.rules),
        limits=case.limits,
    )


def _nearer(score: Score, was: float, now: float) -> float:
    """Share of the miss made good; what is only watched counts where it gets worse."""
    nearer = 0.0
    if score.target is not None:
        missed = score.target.miss(was)
        # Between two shots of one design a share moves by tenths, whatever its target.
        least = 0.2 if score.unit.startswith("share") else 0.25 * abs(score.target.edge)
        scale = max(missed, least, 1e-9)
        nearer = (missed - score.target.miss(now)) / scale
    if nearer == 0 and score.name in WATCHED:
        nearer = min((now - was) / WATCHED[score.name], 0.0)
    return nearer


def best_of(advice: Sequence[Advice], most: int) -> list[Advice]:
    """Advice that helps, in the order given; of two like ways only the first."""
    out: list[Advice] = []
    for one in advice:
        if one.helps and not any(_is_like(one, other) for other in out):
            out.append(one)
    return out[:most]


def together(advice: Sequence[Advice]) -> list[Idea]:
    """The best two and the best three pieces of advice at once, to be tried like any other.

    What touches the same pieces, or the clock twice, is not put together.
    """
    chosen: list[Advice] = []
    for one in best_of(advice, len(advice)):
        touched = {piece for other in chosen for piece in other.idea.trial.pieces}
        clocks = [other for other in (*chosen, one) if not other.idea.trial.pieces]
        if not touched & set(one.idea.trial.pieces) and len(clocks) < 2:
            chosen.append(one)
    return [_joined(chosen[:n]) for n in (2, 3) if len(chosen) >= n]


def _joined(advice: Sequence[Advice]) -> Idea:
    ideas = [one.idea for one in advice]
    return Idea(
        "all at once: " + "; ".join(idea.words for idea in ideas),
        "each of them helps alone",
        Trial("together", parts=tuple(idea.trial for idea in ideas)),
        tuple(dict.fromkeys(name for idea in ideas for name in idea.helps)),
        "; ".join(idea.write for idea in ideas if idea.write),
    )


def _is_like(one: Advice, other: Advice) -> bool:
    """The same sort of change, to some of the same pieces or to the whole shot."""
    mine, theirs = one.idea.trial, other.idea.trial
    shares = not mine.pieces or set(mine.pieces) & set(theirs.pieces)
    return mine.kind == theirs.kind and bool(shares)
