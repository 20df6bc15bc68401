"""Pictures of what a plan still breaks, beside its other files."""

from __future__ import annotations

from pathlib import Path

from panelbeater.animation import ShotPlan
from panelbeater.exports import Fault, export_faults
from panelbeater.scores import Break, Scores

FILE = "broken-promises.png"


def write_faults(plan: ShotPlan, scores: Scores, out: Path) -> None:
    """Write the sheet of broken promises; takes an earlier one away when all are kept."""
    faults = [
        _fault(promise.name, place, plan.rig.shot.n_frames)
        for promise in scores.promises
        for place in promise.broken
    ]
    export_faults(plan.rig, plan.sample, out / FILE, faults)


def _fault(promise: str, place: Break, n_frames: int) -> Fault:
    """Seen in the frame in which it is worst, or begins."""
    at = place.worst.frame if place.worst else place.frames[0] if place.frames else 0.0
    where = (place.worst.x, place.worst.y) if place.worst else None
    frame = min(int(at), n_frames - 1)
    return Fault(f"{promise}: {place.words}", frame, place.pieces, where)
