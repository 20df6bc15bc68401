"""One trial: change one thing about a plan, have it judged, keep the figures."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import TypeAlias

import numpy as np

from panelbeater.animation import ShotPlan
from panelbeater.effort import QUIET, Effort
from panelbeater.errors import PanelbeaterError
from panelbeater.scores import Scores, Shot
from panelbeater.stress import bodies, handling, recast, retime
from panelbeater.stress.case import Case, judge_shot, judge_take
from panelbeater.stress.pictures import Stills
from panelbeater.stress.recast import Cast
from panelbeater.terms.assignment import Cover
from panelbeater.verdict import rules_broken

THINNED = 8
"""Every so many frames are judged where motion is not asked about."""


@dataclass(frozen=True, slots=True)
class Trial:
    """What to change; plain values, so that it can be sent to another process."""

    kind: str
    """A key of `CASTS`, `CLOCKS` or `SHOTS`, or "together" for several parts."""
    pieces: tuple[str, ...] = ()
    frames: int = 0
    at: int = 0
    amount: float = 0.0
    seed: int = 0
    name: str = ""
    covers: tuple[Cover, ...] = ()
    parts: tuple[Trial, ...] = ()
    """What is changed at once."""

    @property
    def touched(self) -> tuple[str, ...]:
        """Pieces that are changed, by this trial or its parts; none for the whole shot."""
        return (*self.pieces, *(piece for part in self.parts for piece in part.touched))


@dataclass(frozen=True, slots=True)
class Figures:
    """The judge's figures of one plan or trial."""

    kept: dict[str, bool] = field(default_factory=dict)
    """Promise name to kept."""
    broken: dict[str, int] = field(default_factory=dict)
    """Promise name to the number of broken places, for those broken."""
    values: dict[str, float] = field(default_factory=dict)
    """Score name to value."""
    on_target: dict[str, bool] = field(default_factory=dict)
    """For scores with a target."""
    failed: str = ""
    """Why there is no plan, in words."""
    shortest: float = 1.0
    """The smallest share of its length at which the fold draws a limb."""
    rules: tuple[str, ...] = ()
    """Wishes for the layout that are not met, like habits and mirror pairs; in words."""
    busiest: int = 0
    """The frame with the highest tracking load."""
    stills: tuple[str, str] = ("", "")
    """Of a trial in `DRAWN`: its busiest and its last frame as pictures for the page."""

    @property
    def n_broken(self) -> int:
        """Promises broken."""
        return sum(not kept for kept in self.kept.values())


def figures_of(scores: Scores) -> Figures:
    """The figures of a verdict."""
    all_scores = (*scores.layout, *scores.motion)
    load = next((s.series for s in scores.motion if s.name == "tracking load"), None)
    return Figures(
        kept={p.name: p.kept for p in scores.promises},
        broken={p.name: max(len(p.broken), 1) for p in scores.promises if not p.kept},
        values={s.name: s.value for s in all_scores},
        on_target={s.name: s.on_target for s in all_scores if s.target is not None},
        busiest=int(np.argmax(load)) if load else 0,
    )


def rules_of(case: Case, plan: ShotPlan) -> tuple[str, ...]:
    """Wishes for the layout that a plan does not meet, in words."""
    return tuple(f"{rule.rule}: {rule.detail}" for rule in rules_broken(plan, case.limits))


def _length(cast: Cast, trial: Trial) -> Cast:
    return recast.retimed(cast, replace(cast.shot, n_frames=trial.frames))


def _linger(plan: ShotPlan, trial: Trial) -> ShotPlan:
    times = retime.lingering(plan.rig.shot.n_frames, trial.at, trial.frames)
    return retime.on_clock(plan, times)


def _hold_first(plan: ShotPlan, trial: Trial) -> ShotPlan:
    return retime.on_clock(plan, retime.held(plan.rig.shot.n_frames, first=trial.frames))


def _hold_last(plan: ShotPlan, trial: Trial) -> ShotPlan:
    return retime.on_clock(plan, retime.held(plan.rig.shot.n_frames, last=trial.frames))


def _ease(cast: Cast, trial: Trial) -> Cast:
    return recast.retimed(cast, replace(cast.shot, ease=trial.name))


CASTS: dict[str, Callable[[Cast, Trial], Cast | None]] = {
    "again": lambda cast, _: cast,
    "length": _length,
    "ease": _ease,
    "relaid": lambda cast, trial: recast.relaid(cast, trial.covers),
    "drawn_size": lambda cast, trial: recast.at_drawn_size(cast, trial.pieces),
    "split": lambda cast, trial: recast.cut_in_two(cast, trial.pieces[0]),
    "body": lambda cast, trial: bodies.another_body(
        cast, np.random.default_rng(trial.seed)
    ),
}
"""Trials that plan again; the fold and whatever they do not touch is taken over."""
CLOCKS: dict[str, Callable[[ShotPlan, Trial], ShotPlan]] = {
    "linger": _linger,
    "hold_first": _hold_first,
    "hold_last": _hold_last,
    "cue": lambda plan, trial: retime.on_cue(plan, trial.pieces, trial.frames),
    "front": lambda plan, trial: recast.in_front(plan, trial.pieces[0]),
}
"""Trials that keep every path and only change its clock or its depth."""
DRAWN = ("length", "body")
"""Trials drawn while the plan is at hand, so that none is planned twice."""
DRAWN_PX = 300

SHOTS: dict[str, Callable[[Case, Trial], Shot]] = {
    "exposure": lambda case, trial: handling.exposed(case.shot, trial.frames),
    "flop": lambda case, _: handling.flopped_shot(case.shot),
    "redrawn": lambda case, trial: handling.redrawn(
        case.plan,
        case.shot,
        np.random.default_rng(trial.seed),
        trial.amount,
        handling.telling_rows(len(case.shot.frames), THINNED),
    ),
}
"""Trials that change finished frames."""


def plan_of(case: Case, trial: Trial) -> ShotPlan | None:
    """The changed plan of a trial that changes one; None where it cannot be done.

    Whatever plans again is put together first and planned once.
    """
    casts = _casts(trial)
    plan = case.plan
    if casts:
        cast: Cast | None = recast.cast_of(plan)
        for part in casts:
            cast = CASTS[part.kind](cast, part) if cast else None
        if cast is None:
            return None
        plan = recast.animated(cast)
    for part in trial.parts or (trial,):
        if part.kind in CLOCKS:
            plan = CLOCKS[part.kind](plan, part)
    return plan


def is_retimed(trial: Trial) -> bool:
    """True for what keeps every path, and so is held against the plan as it is."""
    return not _casts(trial)


def _casts(trial: Trial) -> list[Trial]:
    return [part for part in trial.parts or (trial,) if part.kind in CASTS]


def run_trial(case: Case, trial: Trial) -> Figures:
    """Change, plan, judge. What cannot be planned says so in `failed`."""
    try:
        if trial.kind in SHOTS:
            shot = SHOTS[trial.kind](case, trial)
            picked = trial.kind == "redrawn"
            return figures_of(judge_shot(case, shot, case.plan, stills=picked))
        plan = plan_of(case, trial)
    except PanelbeaterError as error:
        return Figures(failed=str(error))
    if plan is None:
        return Figures(failed="cannot be done with this piece")
    found = replace(
        figures_of(judge_take(case, plan)),
        rules=rules_of(case, plan),
        shortest=plan.rig.fold.shortest,
    )
    if trial.kind not in DRAWN:
        return found
    last = plan.rig.shot.n_frames - 1
    stills = Stills(plan)
    return replace(
        found,
        stills=(stills.still(found.busiest, DRAWN_PX), stills.still(last, DRAWN_PX)),
    )


Collect: TypeAlias = Callable[[], list[Figures]]
"""Waits for trials that were started, and gives their figures in their order."""


@contextmanager
def bench(
    case: Case, *, workers: int, effort: Effort = QUIET
) -> Iterator[Callable[[Sequence[Trial]], Collect]]:
    """Hands out what starts trials.

    With two workers or more they run in processes of their own, and the caller can do other
    work before it collects. Stopping leaves the rest untried, with that for a reason.
    """
    if workers <= 1:
        yield (
            lambda trials: (
                lambda: [
                    UNTRIED if effort.is_stopped else run_trial(case, trial)
                    for trial in trials
                ]
            )
        )
        return
    with ProcessPoolExecutor(workers, None, _open_worker, (case,)) as pool:

        def start(trials: Sequence[Trial]) -> Collect:
            waiting = [pool.submit(_work, trial) for trial in trials]
            return lambda: _collected(waiting, effort)

        yield start


def _collected(waiting: Sequence[Future[Figures]], effort: Effort) -> list[Figures]:
    out = []
    for number, future in enumerate(waiting, 1):
        effort.note(f"trying it out ({number} of {len(waiting)})")
        while not effort.is_stopped and not future.done():
            wait([future], timeout=0.2)
        out.append(UNTRIED if future.cancel() else future.result())
    return out


UNTRIED = Figures(failed="not tried: stopped")
_case: list[Case] = []


def _open_worker(case: Case) -> None:
    """The one case a worker process serves, set once when it starts."""
    _case[:] = [case]


def _work(trial: Trial) -> Figures:
    return run_trial(_case[0], trial)
