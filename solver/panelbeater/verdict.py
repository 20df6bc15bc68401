"""The verdict on a plan: what its frames alone say, and how it is told."""

from __future__ import annotations

from dataclasses import fields
from functools import lru_cache
from typing import Any

import numpy as np

from panelbeater.animation import ShotPlan
from panelbeater.exports import frame_lines, header_line
from panelbeater.flashing import flash_json, flash_of, flash_warning
from panelbeater.geometry.stage import piece_outlines
from panelbeater.rig import RigMotion, sample_rig
from panelbeater.scores import (
    STANDARD,
    Limits,
    Placed,
    RuleBreak,
    Scores,
    Shot,
    judge_clear,
    judge_rules,
    parse_frames,
    score_shot,
)


def judge(plan: ShotPlan, limits: Limits = STANDARD) -> Scores:
    """Every promise and score, from sampled frames alone; and what holds between them."""
    whole, half = frames_of(plan)
    return score_shot(
        whole, half_frames=half, limits=limits, allowances=allowances_of(plan),
        between=RigMotion(plan.rig),
    )  # fmt: skip


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
    """Pins, bans, habits and what pieces go round, judged without the solver; remembered
    for the latest plan.
    """
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
    asked = plan.assignment.asked
    unclear = judge_clear(*frames_of(plan), asked.clear, limits) if asked.clear else ()
    return unclear + judge_rules(
        placed, [piece.id for piece in pieces], limits=limits,
        habits=asked.habits,
        regions={bone.id: bone.region for bone in rig.figure.bones},
        wanted=asked.cover,
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


def captions(scores: Scores) -> dict[str, str]:
    """The few figures an animator looks for first."""
    broken = [promise.name for promise in scores.promises if not promise.kept]
    wanted = ("coverage", "own-region coverage", "spill", "kept vehicle")
    found = {
        score.name: f"{score.value:.2f}" for score in scores.layout if score.name in wanted
    }
    said = f"broken: {', '.join(broken)}" if broken else "all kept"
    return {**found, "promises": said}
