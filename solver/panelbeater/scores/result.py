"""What the judge hands back: promises kept or broken, and scores beside their targets."""

from __future__ import annotations

import math
from dataclasses import dataclass

from panelbeater.scores.words import frames_in_words, number_in_words


@dataclass(frozen=True, slots=True)
class Worst:
    """The worst moment of a broken place; drawing units, stage frame, y down."""

    frame: float
    x: float
    y: float
    depth: float
    """How far apart what should touch, how far into each other or into the ground what
    should not."""


@dataclass(frozen=True, slots=True)
class Break:
    """One place where a promise is broken."""

    frames: tuple[float, ...]
    """Frame numbers from 0, rising; k + 0.5 for a moment between two frames."""
    pieces: tuple[str, ...]
    """Piece ids, or `bone <id>` where the body breaks the promise."""
    detail: str
    worst: Worst | None = None
    """None where no depth can be given."""

    @property
    def words(self) -> str:
        """When, then where, then how deep; frames count from 1."""
        where = [", ".join(self.pieces), frames_in_words(self.frames)]
        out = ": ".join([w for w in where if w] + [self.detail])
        if self.worst is None:
            return out
        at = f"({number_in_words(self.worst.x)}, {number_in_words(self.worst.y)})"
        deep = f"by {number_in_words(self.worst.depth)} units"
        return f"{out}; worst {frames_in_words([self.worst.frame])} at {at} {deep}"


@dataclass(frozen=True, slots=True)
class Promise:
    """One thing every plan must keep."""

    name: str
    value: float
    limit: float
    """Largest value that still keeps the promise."""
    broken: tuple[Break, ...] = ()

    @property
    def kept(self) -> bool:
        """True when the value is within the limit and no place breaks it."""
        return self.value <= self.limit and not self.broken


@dataclass(frozen=True, slots=True)
class Target:
    """Where a score should lie; None leaves that side open."""

    low: float | None = None
    high: float | None = None

    def miss(self, value: float) -> float:
        """How far a value lies outside, in the unit of the score; 0 within."""
        below = self.low - value if self.low is not None else 0.0
        above = value - self.high if self.high is not None else 0.0
        return max(below, above, 0.0)

    @property
    def edge(self) -> float:
        """The side that is asked for: the upper one where there is one; 0 for none."""
        side = self.high if self.high is not None else self.low
        return side if side is not None else 0.0


@dataclass(frozen=True, slots=True)
class Score:
    """One measured quality of the plan."""

    name: str
    value: float
    unit: str
    target: Target | None = None
    series: tuple[float, ...] | None = None
    """One value a frame, or None."""
    note: str = ""

    @property
    def on_target(self) -> bool:
        """True without a target, or when the value lies within it."""
        if self.target is None:
            return True
        low = -math.inf if self.target.low is None else self.target.low
        high = math.inf if self.target.high is None else self.target.high
        return low <= self.value <= high


@dataclass(frozen=True, slots=True)
class Between:
    """The certificate between frames: floats, clashes, the ground, planted feet and changes
    of order, at every moment.
    """

    n_moments: int
    """Moments looked at; what lies between them is excluded by how far anything moves."""
    broken: tuple[tuple[str, Break], ...]
    """Promise and place: the first moment after each frame at which something is wrong."""
    unsure: tuple[tuple[int, str], ...]
    """Frames, and the promise that is kept there by less than can be told."""

    @property
    def is_certified(self) -> bool:
        """True when every moment is proven to keep the promises."""
        return not self.broken and not self.unsure

    def lines(self) -> list[str]:
        """The certificate as plain text; frames count from 1."""
        if self.is_certified:
            return [
                "certified between frames: at no moment does anything float, clash, sink,"
                f" slide or jump to the front ({self.n_moments} looked at)"
            ]
        out = [f"NOT certified between frames ({self.n_moments} moments looked at)"]
        for promise, place in self.broken:
            where = f"{promise}: {', '.join(place.pieces)}: {frames_in_words(place.frames)}"
            out.append(f"       {where}: {place.detail}")
        out += [
            f"       {promise}: after frame {frame + 1}: too close to its limit to tell"
            for frame, promise in self.unsure
        ]
        return out


@dataclass(frozen=True, slots=True)
class Scores:
    """The whole verdict on one shot."""

    promises: tuple[Promise, ...]
    layout: tuple[Score, ...]
    motion: tuple[Score, ...]
    between: Between | None = None
    """What holds between frames, where the motion itself was at hand."""

    @property
    def kept(self) -> bool:
        """True when every promise is kept."""
        return all(promise.kept for promise in self.promises)

    def to_json(self) -> dict[str, object]:
        """Plain dicts, lists, texts and finite numbers, always in the same order."""
        certificate = {} if self.between is None else _between_json(self.between)
        return {
            "kept": self.kept,
            "promises": [_promise_json(promise) for promise in self.promises],
            **certificate,
            "layout": [_score_json(score) for score in self.layout],
            "motion": [_score_json(score) for score in self.motion],
        }

    def lines(self) -> list[str]:
        """The verdict as plain text; frames count from 1, runs are drawn together."""
        between = self.between.lines() if self.between else []
        scores = (*self.layout, *self.motion)
        return [*self.promise_lines(), *between, *(_score_line(score) for score in scores)]

    def promise_lines(self) -> list[str]:
        """The promises alone, each broken place below its promise."""
        out = []
        for promise in self.promises:
            word = "kept  " if promise.kept else "BROKEN"
            value, limit = number_in_words(promise.value), number_in_words(promise.limit)
            out.append(f"{word} {promise.name}: {value} (at most {limit})")
            for place in promise.broken:
                out.append("       " + place.words)
        return out


def _score_line(score: Score) -> str:
    text = f"{score.name}: {number_in_words(score.value)}"
    if score.unit:
        text += f" {score.unit}"
    if score.target is not None:
        sides = []
        if score.target.low is not None:
            sides.append(f"at least {number_in_words(score.target.low)}")
        if score.target.high is not None:
            sides.append(f"at most {number_in_words(score.target.high)}")
        text += f" (wanted {' and '.join(sides)}{'' if score.on_target else ': missed'})"
    return f"{text}; {score.note}" if score.note else text


def _plain(value: float) -> float | int:
    """Nine digits are more than a drawing holds and make files alike on every machine."""
    if not math.isfinite(value):
        raise ValueError("a score is not finite")
    rounded = float(f"{value:.9g}")
    return int(rounded) if rounded == int(rounded) and abs(rounded) < 1e15 else rounded


def _promise_json(promise: Promise) -> dict[str, object]:
    return {
        "name": promise.name,
        "value": _plain(promise.value),
        "limit": _plain(promise.limit),
        "kept": promise.kept,
        "broken": [_break_json(place) for place in promise.broken],
    }


def _break_json(place: Break) -> dict[str, object]:
    return {
        "frames": [_plain(frame) for frame in place.frames],
        "pieces": list(place.pieces),
        "detail": place.detail,
        **({} if place.worst is None else {"worst": _worst_json(place.worst)}),
    }


def _worst_json(worst: Worst) -> dict[str, object]:
    return {
        "frame": _plain(worst.frame),
        "at": [_plain(worst.x), _plain(worst.y)],
        "depth": _plain(worst.depth),
    }


def _between_json(between: Between) -> dict[str, object]:
    return {
        "between_frames": {
            "certified": between.is_certified,
            "moments": between.n_moments,
            "broken": [
                {"promise": promise, **_break_json(place)}
                for promise, place in between.broken
            ],
            "unsure": [
                {"promise": promise, "after_frame": frame}
                for frame, promise in between.unsure
            ],
        }
    }


def _score_json(score: Score) -> dict[str, object]:
    out: dict[str, object] = {
        "name": score.name,
        "value": _plain(score.value),
        "unit": score.unit,
    }
    if score.target is not None:
        sides = (("low", score.target.low), ("high", score.target.high))
        out["target"] = {name: _plain(side) for name, side in sides if side is not None}
        out["on_target"] = score.on_target
    if score.series is not None:
        out["series"] = [_plain(value) for value in score.series]
    if score.note:
        out["note"] = score.note
    return out
