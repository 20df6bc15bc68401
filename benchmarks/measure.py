"""Plans one case in a process of its own and measures it: scores, stages, memory."""

from __future__ import annotations

import math
import re
import resource
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path

from benchmarks.rivals import RIVALS, Rival
from benchmarks.sources import Case
from panelbeater.animation import ShotPlan, animate
from panelbeater.deliver import deliver
from panelbeater.effort import Effort
from panelbeater.errors import PanelbeaterError
from panelbeater.scores import Scores
from panelbeater.shot import Request, plan_shot, prepare_shot
from panelbeater.terms.timing import ShotOptions
from panelbeater.verdict import judge

STAGES = {
    "reading": "drawing", "folding": "fold", "trying": "placements", "choosing": "choice",
    "settling": "settling", "unfolding": "unfold", "timing": "schedule", "routing": "paths",
    "judging": "judge", "writing": "files",
}  # fmt: skip
"""What a stage says when it begins, by its first word, and the column it is charged to."""
SCORES = (
    "coverage", "coverage area bound", "own-region coverage", "least covered region",
    "bend test, mean", "bend test, worst", "spill", "overlap", "kept vehicle",
    "signature pieces kept", "symmetry", "bundles", "bundles at most", "tracking load",
    "secrecy", "step", "judder share", "ease", "arc", "kink", "jerk",
    "hold of the robot", "landmark legibility",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Options:
    """What all cases of one run share; written beside every row."""

    seed: int = 1
    budget: float = 1.0
    frames: int = 72
    keep: Path | None = None
    """Folder below which every plan is written."""
    rivals: tuple[str, ...] = ()
    """Other ways to do one stage, run on the same work; names of RIVALS."""


@dataclass(frozen=True, slots=True)
class Row:
    """One planned case, by us or by a rival."""

    case: str
    source: str
    way: str
    """`panelbeater`, or the rival's name."""
    facts: dict[str, float] = field(default_factory=dict)
    """Scores, processor seconds `s <stage>`, MiB."""
    broken: tuple[str, ...] = ()
    """Hard promises that were not kept, each with its value."""
    said: str = ""
    """Why there is no plan."""

    @property
    def crashed(self) -> bool:
        """True when the case ended in something other than a plain message."""
        return self.said.startswith("CRASHED")


def measure(case: Case, options: Options) -> list[Row]:
    """Our row first, then one a rival."""
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        try:
            return pool.submit(_measured, case, options).result()
        except Exception as error:
            first = str(error).splitlines()[0] if str(error) else ""
            return [Row(case.name, case.source, "panelbeater",
                        said=f"CRASHED: {type(error).__name__}: {first}")]  # fmt: skip


def _measured(case: Case, options: Options) -> list[Row]:
    shot = ShotOptions(
        n_frames=options.frames, title=case.name, seed=options.seed, budget=options.budget
    )
    request = Request(case.vehicle, case.figure, shot=shot)
    clock = _Clock()
    try:
        plan = plan_shot(request, Effort(note=clock.note))
    except PanelbeaterError as error:
        return [Row(case.name, case.source, "panelbeater", said=str(error))]
    clock.note("judging")
    if options.keep:
        folder = options.keep / re.sub(r"\W+", "_", case.name)
        scores = deliver(plan, folder, Effort(note=clock.note))
    else:
        scores = judge(plan)
    spent = clock.stopped()
    facts = _facts(plan, scores) | spent | {"MiB": _peak_mib()}
    ours = Row(case.name, case.source, "panelbeater", facts, _broken(scores))
    return [ours, *_rivals(case, request, options, plan)]


def _rivals(case: Case, request: Request, options: Options, ours: ShotPlan) -> list[Row]:
    """The same drawings, figure, folds and placements, with one stage done otherwise."""
    if not options.rivals:
        return []
    ready = prepare_shot(request)
    rows = []
    for name in options.rivals:
        rival: Rival = RIVALS[name]
        clock = _Clock()
        clock.note("choosing")
        try:
            with rival.instead():
                fold, layout = rival.layout(ready, request.shot, ours)
                plan = rival.after(animate(ready, fold, layout, request.shot))
        except PanelbeaterError as error:
            rows.append(Row(case.name, case.source, name, said=str(error)))
            continue
        spent = clock.stopped()
        scores = judge(plan)
        facts = _facts(plan, scores) | {"s": spent["s"]}
        rows.append(Row(case.name, case.source, name, facts, _broken(scores)))
    return rows


class _Clock:
    """Charges processor time to the stage that said it had begun."""

    def __init__(self) -> None:
        self._stage, self._since = "", time.process_time()
        self._spent: dict[str, float] = {}

    def note(self, line: str) -> None:
        """A new stage begins."""
        now = time.process_time()
        if self._stage:
            self._spent[self._stage] = self._spent.get(self._stage, 0) + now - self._since
        self._stage = STAGES.get(line.split()[0], self._stage or "other")
        self._since = now

    def stopped(self) -> dict[str, float]:
        """Seconds by stage, and `s` for all."""
        self.note("judging is over")
        spent = {f"s {stage}": seconds for stage, seconds in self._spent.items()}
        return spent | {"s": sum(spent.values())}


def _facts(plan: ShotPlan, scores: Scores) -> dict[str, float]:
    found = {score.name: float(score.value) for score in (*scores.layout, *scores.motion)}
    known = {name: found[name] for name in SCORES if name in found}
    wanted = next((s for s in scores.layout if s.name == "signature pieces kept"), None)
    return {
        "pieces": float(len(plan.rig.drawing.pieces)),
        **known,
        "signature pieces": float(wanted.unit.split()[-1]) if wanted else 0.0,
        "value": plan.assignment.value,
        "bound": plan.assignment.bound,
        "gap": plan.assignment.gap if math.isfinite(plan.assignment.bound) else math.inf,
        "placements": float(plan.assignment.n_candidates),
        "shortest limb": plan.rig.fold.shortest,
        "promises kept": float(sum(promise.kept for promise in scores.promises)),
    }


def _broken(scores: Scores) -> tuple[str, ...]:
    return tuple(f"{p.name} {p.value:.3g}" for p in scores.promises if not p.kept)


def _peak_mib() -> float:
    """Most memory this process ever held."""
    status = Path("/proc/self/status")
    if status.is_file():
        found = re.search(r"VmHWM:\s+(\d+) kB", status.read_text())
        if found:
            return int(found[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
