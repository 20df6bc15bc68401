"""What each alternate leans towards: trade-offs first, then other ways to use a vehicle."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from panelbeater.assignment.options import AssignmentOptions, sort_of
from panelbeater.terms.drawing import Piece
from panelbeater.terms.figure import without_side


@dataclass(frozen=True, slots=True)
class Idea:
    """A leaning by name: factors on prices, habits instead of the usual ones.

    A name says what comes first, not what comes out: it must be true of any layout.
    """

    name: str
    factors: Mapping[str, float] = field(default_factory=dict)
    habits: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    """Sort to regions and what each is worth there; without such a piece, no such idea."""

    def options(self, usual: AssignmentOptions) -> AssignmentOptions:
        """The usual options, leaning this way."""
        changed = {name: getattr(usual, name) * by for name, by in self.factors.items()}
        habits = {**usual.habits, **self.habits}
        return replace(usual, **changed, habits=habits)

    def is_kept_by(self, pieces: Sequence[Piece], layout: Mapping[str, str]) -> bool:
        """Does a layout (region id by piece id) show what the name says? What comes first
        in a trade-off need not show; a wheel at a shoulder has to.
        """
        return not self.habits or any(
            without_side(layout[piece.id]) in self.habits.get(sort_of(piece), ())
            for piece in pieces
        )


# Factors and worths are guesses, looked at on two vehicles (automobile, ambulance): a wheel
# at the shoulder earns twice what it does at the ankle. Common practice with no source.
IDEAS = (
    Idea("on balance"),
    Idea("vehicle first", {"keep_bonus": 2.5, "resize_price": 2.0}),
    Idea("cover first", {"keep_bonus": 0.3}),
    Idea("short ways first", {"travel_price": 6.0, "gap_price": 6.0, "turn_price": 6.0}),
    Idea("wheels at the shoulders", habits={"wheel": {"upper_arm": 0.24}}),
    Idea("windows for a face", habits={"window": {"head": 0.12}}),
    Idea(
        "its front for a chest",
        habits={"lamp": {"torso": 0.08}, "bumper": {"torso": 0.12}},
    ),
)


def ideas_for(pieces: Sequence[Piece]) -> Iterator[Idea]:
    """Endlessly: every idea these pieces allow, then whatever differs from all before."""
    kinds = {piece.kind for piece in pieces}
    fitting = [idea for idea in IDEAS if not idea.habits or kinds & set(idea.habits)]
    yield from fitting
    number = 1
    while True:
        yield Idea(f"another way, {number}")
        number += 1
