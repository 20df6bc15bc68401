"""Judges a finished plan and writes every file of it into the animator's folder."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

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
    frame_lines,
    header_line,
)
from panelbeater.faults import write_faults
from panelbeater.flashing import flash_json, flash_of, flash_warning
from panelbeater.geometry.stage import piece_outlines
from panelbeater.rig import RigMotion, plan_from_json, plan_to_json, sample_rig
from panelbeater.scores import (
    STANDARD,
    Limits,
    Placed,
    RuleBreak,
    Scores,
    Shot,
    judge_rules,
    parse_frames,
    read_frames,
    score_shot,
)
from panelbeater.shot import ShotPlan
from panelbeater.terms.timing import Move, Schedule


def judge(plan: ShotPlan, limits: Limits = STANDARD) -> Scores:
    """Every promise and score, from sampled frames alone; and what holds between them."""
    whole, half = frames_of(plan)
    return score_shot(
        whole, half_frames=half, limits=limits, allowances=allowances_of(plan),
        between=RigMotion(plan.rig),
    )  # fmt: skip


def judge_again(out: Path) -> Scores:
    """The verdict on frames written earlier: of a folder by the sizes and limits it was
    planned with, of a frames file by the standard ones. Raises DrawingError, one line.
    """
    if not out.is_dir():
        return score_shot(read_frames(out))
    frames, limits = read_frames(out / "frames.ndjson"), limits_of(out)
    if not (out / "plan.json").exists():
        return score_shot(frames, limits=limits)
    plan = open_plan(out)
    return score_shot(
        frames, limits=limits, allowances=allowances_of(plan), between=RigMotion(plan.rig)
    )


def frames_of(plan: ShotPlan) -> tuple[Shot, Shot]:
    """Whole frames and half frames as the judge reads them, written out and read back."""
    rig, covers = plan.rig, covers_of(plan)
    half_times = np.arange(rig.shot.n_frames - 1, dtype=np.float64) + 0.5
    header = header_line(rig)
    whole = frame_lines(rig, plan.sample, covers, times=range(rig.shot.n_frames))
    half = frame_lines(rig, sample_rig(rig, half_times), covers, times=list(half_times))
    return parse_frames([header, *whole]), parse_frames([header, *half])


def allowances_of(plan: ShotPlan) -> dict[str, tuple[float, float, float]]:
    """Piece id to smallest and largest end scale and smallest scale on the way."""
    return {
        p.id: (p.allowance.scale_min, p.allowance.scale_max, p.allowance.dip_min)
        for p in plan.rig.drawing.pieces
    }


def covers_of(plan: ShotPlan) -> dict[str, str]:
    """Piece id to region id."""
    return {cover.piece: cover.region for cover in plan.assignment.covers}


@lru_cache(maxsize=1)
def rules_broken(plan: ShotPlan, limits: Limits = STANDARD) -> tuple[RuleBreak, ...]:
    """Pins, bans and habits, judged without the solver; remembered for the latest plan."""
    rig, pieces = plan.rig, plan.rig.drawing.pieces
    last = piece_outlines(rig, plan.sample, len(plan.sample.stage_from_piece) - 1)
    placed = [
        Placed(
            p.id, cover.region, p.kind, p.mirror, p.wishes.pin, p.wishes.bans, cover.scale,
            p.colour, p.outline, laid, p.depth, int(rig.depth[-1, i]),
            stowed=cover.stowed, may_stow=p.wishes.stow,
        )
        for i, (p, cover, laid) in enumerate(
            zip(pieces, plan.assignment.covers, last, strict=True)
        )
    ]  # fmt: skip
    return judge_rules(
        placed, [piece.id for piece in pieces], limits=limits,
        habits=plan.assignment.asked.habits,
        regions={bone.id: bone.region for bone in rig.figure.bones},
        wanted=plan.assignment.asked.cover,
    )  # fmt: skip


HEADLINES = (
    "coverage", "own-region coverage", "spill", "kept vehicle", "signature pieces kept",
    "bend test, mean", "tracking load", "hold of the robot",
)  # fmt: skip
"""Scores told on the terminal; all of them are in scores.json and on the page."""


def headlines(plan: ShotPlan, scores: Scores, limits: Limits = STANDARD) -> list[str]:
    """The verdict in a few lines: promises first, each broken one in full."""
    told = scores.lines()
    kept = [promise.kept for promise in scores.promises]
    out = [f"{sum(kept)} of {len(kept)} promises kept"]
    out += [line for line in scores.promise_lines() if not line.startswith("kept")]
    out += scores.between.lines() if scores.between else []
    out += [line for line in told if line.split(":")[0] in HEADLINES]
    out += [f"rule: {broken.told}" for broken in rules_broken(plan, limits)]
    out += plan.stacking.lines(plan.rig.shot)
    if (shortest := plan.rig.fold.shortest) < 1:
        out.append(f"fold: the shortest limb is drawn at {shortest:.0%} of its length")
    done = plan.assignment
    out.append(f"layout: {done.proof} ({done.n_candidates} placements)")
    if done.raster_gap is not None:
        out[-1] += f"; at most {done.raster_gap:.1%} below any of {done.n_raster:,}"
    return out


def scores_json(
    plan: ShotPlan, scores: Scores, limits: Limits = STANDARD
) -> dict[str, Any]:
    """The content of scores.json: the judge's verdict beside what the solvers proved."""
    done, fold, flash = plan.assignment, plan.rig.fold, flash_of(plan)
    changed = {
        f.name: getattr(limits, f.name)
        for f in fields(Limits)
        if getattr(limits, f.name) != getattr(STANDARD, f.name)
    }
    return {
        **scores.to_json(),
        "assignment": {
            "value": round(done.value, 6),
            "bound": round(done.bound, 6),
            "gap": round(done.gap, 6),
            "proof": done.proof,
            "bound_is_for": (
                "the discrete choice over this pool of placements, before refinement"
            ),
            "n_candidates": done.n_candidates,
            "raster_bound": done.raster_bound,
            "raster_gap": done.raster_gap,
            "raster_bound_is_for": "all turns, shapes and spots tried, before refinement",
            "n_raster": done.n_raster,
        },
        "fold": {
            "leak": fold.leak,
            "shortest_length": round(fold.shortest, 4),
            "thinnest_width": round(fold.thinnest, 4),
        },
        "schedule": {"proof": plan.schedule.proof, **plan.stacking.to_json(plan.rig.shot)},
        "rules": [
            {"rule": b.rule, "must": b.must, "pieces": list(b.pieces), "detail": b.detail}
            for b in rules_broken(plan, limits)
        ],
        "flash": flash_json(flash),
        "limits": changed,
        "warnings": [
            *plan.rig.drawing.warnings,
            *plan.rig.figure.warnings,
            *flash_warning(flash),
        ],
    }


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


def open_plan(path: Path, values: Any = None) -> ShotPlan:
    """A plan written earlier, from its plan.json or the folder it lies in.

    values : what plan.json holds, where that is at hand already. Raises DrawingError, one
    line, when there is no such plan.
    """
    path = path / "plan.json" if path.is_dir() else path
    rig, assignment = plan_from_json(values or _values_of(path), name=str(path))
    moves = tuple(Move(track.piece, track.start, track.end) for track in rig.tracks)
    sample = sample_rig(rig, np.arange(rig.shot.n_frames, dtype=np.float64))
    return ShotPlan(rig, sample, assignment, Schedule(moves, "read from plan.json"))


def limits_of(out: Path) -> Limits:
    """The thresholds a plan was judged by, as its scores.json records the changed ones.

    Raises DrawingError, one line, when that file is there and cannot be read.
    """
    path = out / "scores.json"
    values = _values_of(path) if path.exists() else {}
    changed = values.get("limits") if isinstance(values, dict) else None
    if not isinstance(changed, dict | None):
        raise DrawingError(f"{path}: 'limits' is no table; plan again to rewrite it")
    known = {f.name for f in fields(Limits)}
    kept = {k: v for k, v in (changed or {}).items() if k in known}
    if any(type(value) not in (int, float) for value in kept.values()):
        raise DrawingError(f"{path}: a limit is no number; plan again to rewrite it")
    return replace(STANDARD, **kept)


def _values_of(path: Path) -> Any:
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise DrawingError(f"{path}: no such plan; make one: panelbeater plan") from None
    except (OSError, ValueError, RecursionError) as error:
        raise DrawingError(f"{path}: not a plan: {error}") from None


def captions(scores: Scores) -> dict[str, str]:
    """The few figures an animator looks for first."""
    broken = [promise.name for promise in scores.promises if not promise.kept]
    wanted = ("coverage", "own-region coverage", "spill", "kept vehicle")
    found = {
        score.name: f"{score.value:.2f}" for score in scores.layout if score.name in wanted
    }
    said = f"broken: {', '.join(broken)}" if broken else "all kept"
    return {**found, "promises": said}


def _keep_piece_list(plan: ShotPlan, out: Path) -> None:
    path = out / "pieces.csv"
    if not path.exists():
        write_piece_list(plan.rig.drawing, path)
        return
    beside = out / "pieces-inferred.csv"
    write_piece_list(plan.rig.drawing, beside)
    if beside.read_bytes() == path.read_bytes():
        beside.unlink()
