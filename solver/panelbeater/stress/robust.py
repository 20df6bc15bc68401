"""The same design under strain: which figures hold, and how far they spread."""

from __future__ import annotations

from dataclasses import dataclass

from panelbeater.stress.case import Case
from panelbeater.stress.trials import Figures, Trial

LENGTHS = (24, 48, 96, 144)
"""Frames; the plan's own length is left out."""
N_BODIES = 3
N_REDRAWN = 3
ERRORS = (0.01, 0.02, 0.03)
"""Standard deviation of a redraw, as a share of each piece's size."""
LAYOUT = (
    "coverage",
    "own-region coverage",
    "spill",
    "signature pieces kept",
    "silhouette IoU",
)
MOTION = ("bundles", "tracking load", "step", "secrecy", "kink")
COLUMNS = (*LAYOUT, *MOTION)
"""Scores shown for every strain; motion is left blank where only stills are judged."""


@dataclass(frozen=True, slots=True, eq=False)
class Strain:
    """One way the design is strained; several draws where chance is in it."""

    group: str
    name: str
    trials: tuple[Trial, ...]
    stills_only: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """One score under one strain."""

    low: float
    middle: float
    high: float
    worst: float
    """The draw farthest to the bad side."""
    is_hit: bool | None
    """Whether the worst draw still meets the target; None without a target."""
    worse_by: float
    """How far the worst draw is from the plan's own figure, to the bad side, as a share of
    the target (or of the figure itself); 0 when it is no worse."""


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """What one strain did."""

    strain: Strain
    broken: tuple[str, ...]
    """Promises broken in any draw, that the plan itself keeps."""
    cells: dict[str, Cell]
    worst: Figures
    """The draw that strays farthest."""
    failed: str = ""
    draws_broken: int = 0
    """Draws that break any of these promises."""
    shortest: float = 1.0
    """The smallest share of its length at which a limb is folded in any draw."""


def strains_of(case: Case) -> tuple[Strain, ...]:
    """Everything the design is put through, in the order of the report."""
    shot = case.plan.rig.shot
    out = [
        Strain("length", f"{frames} frames", (Trial("length", frames=frames),))
        for frames in LENGTHS
        if frames != shot.n_frames
    ]
    out += [
        Strain("exposure", name, (Trial("exposure", frames=held),))
        for held, name in ((1, "on ones"), (2, "on twos"), (3, "on threes"))
        if held != shot.exposure
    ]
    out.append(Strain("stage", "mirrored", (Trial("flop"),)))
    out.append(
        Strain(
            "figure",
            "other proportions",
            tuple(Trial("body", seed=s) for s in range(N_BODIES)),
        )
    )
    out += [
        Strain(
            "redraw",
            f"redrawn {error:.0%} off",
            tuple(Trial("redrawn", amount=error, seed=s) for s in range(N_REDRAWN)),
            stills_only=True,
        )
        for error in ERRORS
    ]
    return tuple(out)


def row_of(case: Case, own: Figures, strain: Strain, found: list[Figures]) -> Row:
    """The spread of every score over a strain's draws."""
    good = [f for f in found if not f.failed]
    if not good:
        return Row(strain, (), {}, found[0], found[0].failed)
    cells: dict[str, Cell] = {}
    strayed = [0.0] * len(good)
    for name in LAYOUT if strain.stills_only else COLUMNS:
        if any(name not in f.values for f in good):
            continue
        values = [f.values[name] for f in good]
        worse = [_worse_by(case, name, own.values[name], v) for v in values]
        sign = 1 if lower_is_better(case, name) else -1
        strayed = [max(s, w) for s, w in zip(strayed, worse, strict=True)]
        ordered = sorted(values)
        hits = [f.on_target[name] for f in good if name in f.on_target]
        cells[name] = Cell(
            ordered[0],
            ordered[len(ordered) // 2],
            ordered[-1],
            max(values, key=lambda v, sign=sign: sign * v),  # type: ignore[misc]
            all(hits) if hits else None,
            max(worse),
        )
    # A redrawn piece is another piece by intent: it differs from the input, and a wheel
    # that stood on the ground now stands a hair above or below it.
    meant = {"vehicle error", "landing", "budget", "ground"} if strain.stills_only else ()
    asked = [name for name, kept in own.kept.items() if kept and name not in meant]
    wrong = [{name for name in asked if not f.kept.get(name, True)} for f in good]
    worst = max(range(len(good)), key=lambda i: (good[i].n_broken, strayed[i]))
    return Row(
        strain,
        tuple(name for name in asked if any(name in found for found in wrong)),
        cells,
        good[worst],
        draws_broken=sum(map(bool, wrong)),
        shortest=min(f.shortest for f in good),
    )


def lower_is_better(case: Case, name: str) -> bool:
    """Which way is good for a score."""
    for score in (*case.scores.layout, *case.scores.motion):
        if score.name == name and score.target is not None:
            return score.target.low is None
    return name in ("spill",)


def _worse_by(case: Case, name: str, own: float, value: float) -> float:
    sign = 1.0 if lower_is_better(case, name) else -1.0
    scale = abs(own)
    for score in (*case.scores.layout, *case.scores.motion):
        if score.name == name and score.target is not None:
            edge = score.target.high if score.target.low is None else score.target.low
            scale = max(abs(edge or 0.0), scale)
    return max(0.0, sign * (value - own) / max(scale, 1e-9))
