"""Writes every file of a finished plan into the animator's folder."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from panelbeater.animation import ShotPlan
from panelbeater.drawing import write_piece_list
from panelbeater.effort import QUIET, Effort
from panelbeater.errors import DrawingError
from panelbeater.exports import (
    export_contact_sheet,
    export_frames,
    export_json,
    export_page,
    export_rig_svg,
    export_sheet,
    export_still_page,
    export_still_svg,
)
from panelbeater.faults import write_faults
from panelbeater.flashing import flash_of, flash_warning
from panelbeater.rig import plan_to_json
from panelbeater.scores import STANDARD, Limits, Scores
from panelbeater.verdict import captions, covers_of, judge, scores_json


def deliver(
    plan: ShotPlan,
    out: Path,
    effort: Effort = QUIET,
    limits: Limits = STANDARD,
    *,
    allow_flashing: bool = False,
) -> Scores:
    """Write the files of the plan; each appears whole or not at all.

    An edited pieces.csv is never overwritten: the inferred list goes beside it. Of a shot
    that fails the flash meter preview.html and rig.svg show stills, unless
    `allow_flashing` says that they may move.
    Raises DrawingError when `out` cannot be a folder.
    """
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise DrawingError(f"{out}: cannot make this folder: {error.strerror}") from None
    effort.note("judging the plan")
    scores = judge(plan, limits)
    verdict = scores_json(plan, scores, limits)
    rig, sample = plan.rig, plan.sample
    effort.note("writing the rig and the sheets")
    export_json(plan_to_json(rig, plan.assignment), out / "plan.json")
    export_json(verdict, out / "scores.json")
    export_frames(rig, sample, out / "frames.ndjson", covers_of(plan))
    export_sheet(rig, sample, out / "exposure-sheet.csv")
    effort.note("drawing the page and the contact sheet")
    _write_moving(plan, out, verdict, allow_flashing=allow_flashing)
    export_contact_sheet(rig, sample, out / "contact-sheet.png", captions=captions(scores))
    write_faults(plan, scores, out)
    _keep_piece_list(plan, out)
    return scores


def _write_moving(
    plan: ShotPlan, out: Path, verdict: dict[str, Any], *, allow_flashing: bool
) -> None:
    """The files that move, or stills under their names where the meter forbids it."""
    rig, sample = plan.rig, plan.sample
    page, drawing = out / "preview.html", out / "rig.svg"
    refused = [] if allow_flashing else flash_warning(flash_of(plan))
    if refused:
        why = f"The shot fails the flash meter: {refused[0]}."
        export_still_svg(rig, sample, drawing, why=why)
        export_still_page(rig, sample, page, why=why)
    else:
        export_rig_svg(rig, sample, drawing)
        export_page(rig, sample, page, scores=verdict, covers=plan.assignment.covers)


def _keep_piece_list(plan: ShotPlan, out: Path) -> None:
    path = out / "pieces.csv"
    if not path.exists():
        write_piece_list(plan.rig.drawing, path)
        return
    beside = out / "pieces-inferred.csv"
    write_piece_list(plan.rig.drawing, beside)
    if beside.read_bytes() == path.read_bytes():
        beside.unlink()
