"""The whole stress report: every question asked of one plan, all answers in one place."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from panelbeater.effort import QUIET, Effort
from panelbeater.exports import FIRST_PIECE, StillCamera, label_frames
from panelbeater.flashing import flash_of
from panelbeater.scores import FlashReport
from panelbeater.stress.advice import Advice, Gain, best_of, together, weigh
from panelbeater.stress.carriers import Carrier, find_carriers
from panelbeater.stress.case import Case
from panelbeater.stress.ideas import MOST_IDEAS, ideas_for
from panelbeater.stress.motion import Moment, worst_moments
from panelbeater.stress.recognition import (
    DESCRIPTORS,
    Mask,
    Reading,
    mask_of,
    read_silhouette,
    turning_frame,
)
from panelbeater.stress.robust import Row, Strain, row_of, strains_of
from panelbeater.stress.trials import (
    Figures,
    Trial,
    bench,
    figures_of,
    is_retimed,
    rules_of,
)
from panelbeater.stress.views import (
    FULL_PX,
    Bytes,
    edge_differences,
    told_apart,
    ways_of_seeing,
)
from panelbeater.terms.arrays import Ints
from panelbeater.terms.drawing import Shape

SHADOW_PX = 120
"""Width of the silhouettes that are read."""
FEW = 3
"""Pieces of advice below which ideas that also cost much are told, too."""
TRADES = 2
"""Of those, so many."""


@dataclass(frozen=True, slots=True, eq=False)
class Recognition:
    """What the outline alone is taken for, over the shot."""

    leans: dict[str, dict[int, float]]
    """Descriptor to lean (1 vehicle, -1 person) at the frames that were read."""
    turns: dict[str, int | None]
    """Descriptor to the first frame that leans to the person for good."""
    readings: dict[int, dict[str, Reading]]
    """Frame to descriptor to reading, at first, middle and last frame."""
    shadows: dict[int, Mask]
    """The silhouettes of those frames."""
    bare: dict[str, Reading]
    """What the figure's own drawing is taken for, before any piece is laid on it."""


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """How well pieces are told apart in one way of seeing."""

    name: str
    share: float
    """Of visible pieces, mean over the key frames."""
    worst_frame: int
    lost: tuple[str, ...]
    """Pieces lost in the worst frame."""
    picture: Bytes
    """The worst frame as it is seen."""


@dataclass(frozen=True, slots=True, eq=False)
class Report:
    """All answers about one plan."""

    case: Case
    figures: Figures
    repeats: bool
    """True when planning again gives the same figures."""
    flash: FlashReport
    recognition: Recognition
    views: tuple[View, ...]
    carriers: tuple[Carrier, ...]
    moments: tuple[Moment, ...]
    rows: tuple[Row, ...]
    advice: tuple[Advice, ...]
    """Everything that was tried; those that help first, most gain first."""

    def told(self, most: int) -> list[Advice]:
        """The advice worth giving: of two ways with the same pieces only the better one."""
        return best_of(self.advice, most)

    def trades(self) -> list[Advice]:
        """What wins much and costs much, the largest gains first; none where enough helps
        without.
        """
        if len(self.told(FEW)) == FEW:
            return []
        found = [one for one in self.advice if one.is_trade]
        found.sort(key=lambda one: -sum(gain.nearer for gain in one.gains))
        return found[:TRADES]

    def lines(self) -> list[str]:
        """The heart of the report as plain text; frames count from 1."""
        turns = [f"{k}: frame {v + 1}" for k, v in self.recognition.turns.items() if v]
        out = [
            f"turns from vehicle to figure, by {'; '.join(turns) or 'neither descriptor'}"
        ]
        out += [
            f"worst: frame {m.frame + 1}, {m.headline}: {m.detail}" for m in self.moments
        ]
        out += [f"do: {one.idea.words} ({_won(one)})" for one in self.told(6)]
        for one in self.trades():
            costs = ", ".join(map(_moved, one.losses[:2])) or "; ".join(one.against)
            out.append(f"or choose: {one.idea.words} ({_won(one)}; but {costs})")
        return out


def _won(advice: Advice) -> str:
    return ", ".join(
        [*(f"{n} kept" for n in advice.mended), *map(_moved, advice.gains[:3])]
    )


def _moved(gain: Gain) -> str:
    return f"{gain.score} {gain.before:.3g} -> {gain.after:.3g}"


def stress_plan(
    case: Case,
    *,
    workers: int = 2,
    most_ideas: int = MOST_IDEAS,
    strains: Collection[str] | None = None,
    effort: Effort = QUIET,
) -> Report:
    """Ask everything. The order of the answers never depends on the number of workers.

    `most_ideas` and `strains`, by name, hold it to a part of what there is to try.
    """
    effort.note("looking for what to try")
    own = replace(figures_of(case.scores), rules=rules_of(case, case.plan))
    ideas = ideas_for(case)[:most_ideas]
    put = [s for s in strains_of(case) if strains is None or s.name in strains]
    again = Trial("again")
    trials = [again, *(i.trial for i in ideas), *(t for s in put for t in s.trials)]
    # Longest first keeps both processes busy to the end; the answers keep their order.
    order = sorted(range(len(trials)), key=lambda i: (-trials[i].frames, i))
    # An idea and a strain may ask the same: it is tried once.
    places: dict[Trial, int] = {}
    for i in order:
        places.setdefault(trials[i], len(places))
    ordered = list(places)
    with bench(case, workers=workers, effort=effort) as start:
        collect = start(ordered)
        effort.note("looking at the pictures")
        figure = case.plan.rig.figure.silhouette
        labels = label_frames(case.plan.rig, case.plan.sample, SHADOW_PX)
        looked = (flash_of(case.plan), _recognise(labels, figure), _views(case))
        dropped, moments = find_carriers(case.plan), worst_moments(case)
        ran = collect()
        found = [ran[places[trial]] for trial in trials]
        tries = found[1 : 1 + len(ideas)]
        advice = [
            weigh(case, idea, _before(idea.trial, own, found[0]), after)
            for idea, after in zip(ideas, tries, strict=True)
        ]
        joint = together(_best_first(advice))
        advice += [
            weigh(case, idea, _before(idea.trial, own, found[0]), after)
            for idea, after in zip(
                joint, start([idea.trial for idea in joint])(), strict=True
            )
        ]
    rows = _rows(case, own, put, found[1 + len(ideas) :])
    return Report(
        case,
        own,
        _same(own, found[0]),
        *looked,
        dropped,
        moments,
        rows,
        _best_first(advice),
    )


def _best_first(advice: Sequence[Advice]) -> tuple[Advice, ...]:
    return tuple(sorted(advice, key=lambda a: (not a.helps, -a.worth)))


def _before(trial: Trial, own: Figures, again: Figures) -> Figures:
    """Trials that only retime start from the plan as it is, others from planning anew."""
    return own if is_retimed(trial) or again.failed else again


def _same(one: Figures, other: Figures) -> bool:
    # The plan's own frames went through the rounding of their file, a re-plan's did not;
    # and a trial is judged without the slowest scores.
    return not other.failed and all(
        np.isclose(one.values.get(name, np.nan), value, rtol=1e-4, atol=1e-6)
        for name, value in other.values.items()
    )


def _rows(
    case: Case, own: Figures, strains: list[Strain], found: list[Figures]
) -> tuple[Row, ...]:
    rows, at = [], 0
    for strain in strains:
        n = len(strain.trials)
        rows.append(row_of(case, own, strain, found[at : at + n]))
        at += n
    return tuple(rows)


def _recognise(labels: Ints, figure: Shape) -> Recognition:
    n_frames = len(labels)
    read: dict[int, dict[str, Reading]] = {}

    def reading(frame: int) -> dict[str, Reading]:
        if frame not in read:
            read[frame] = read_silhouette(labels[frame] > 0)
        return read[frame]

    leans, turns = {}, {}
    for name in DESCRIPTORS:
        leans[name], turns[name] = turning_frame(
            n_frames,
            lambda frame, name=name: reading(frame)[name].lean,  # type: ignore[misc]
        )
    known = [t for t in turns.values() if t is not None]
    middle = known[0] if known else n_frames // 2
    keys = sorted({0, middle, n_frames - 1})
    return Recognition(
        leans,
        turns,
        {k: reading(k) for k in keys},
        {k: labels[k] > 0 for k in keys},
        read_silhouette(mask_of(figure)),
    )


def _views(case: Case) -> tuple[View, ...]:
    """Pieces told apart at the first, the middle and the last frame, in every view."""
    plan = case.plan
    camera = StillCamera(plan.rig, plan.sample)
    width = round(FULL_PX * camera.window.width / camera.window.height)
    last = plan.rig.shot.n_frames - 1
    frames = sorted({0, last // 3, last // 2, 2 * last // 3, last})
    stills = [np.asarray(camera.picture(frame, width)) for frame in frames]
    labels = label_frames(plan.rig, plan.sample, width, rows=frames)
    names = [piece.id for piece in plan.rig.drawing.pieces]
    out = []
    for sight in ways_of_seeing():
        found = []
        for still, label in zip(stills, labels, strict=True):
            apart = edge_differences(sight.look(still), label, sight.across_px)
            pieces = {k - FIRST_PIECE: v for k, v in apart.items() if k >= FIRST_PIECE}
            found.append(told_apart(pieces, case.limits.told_apart))
        worst = min(range(len(frames)), key=lambda k: found[k][0])
        out.append(
            View(
                sight.name,
                float(np.mean([share for share, _ in found])),
                frames[worst],
                tuple(names[i] for i in found[worst][1]),
                sight.look(stills[worst]),
            )
        )
    return tuple(out)
