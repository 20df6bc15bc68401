"""One finished plan on the bench: its rig, its frames as judged, its verdict."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from panelbeater.deliver import covers_of, frames_of, open_plan
from panelbeater.errors import DrawingError
from panelbeater.exports import frame_lines, header_line
from panelbeater.geometry.stage import bone_outlines, piece_outlines, piece_scales
from panelbeater.scores import STANDARD, Limits, Scores, Shot, parse_frames, score_shot
from panelbeater.shot import ShotPlan


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """What every question of the report is asked of."""

    name: str
    plan: ShotPlan
    shot: Shot
    """All whole frames, as the judge reads them."""
    scores: Scores
    limits: Limits


def open_case(out: Path) -> Case:
    """A plan from its folder, judged afresh with the limits it was planned with.

    Raises DrawingError when the folder holds no readable plan.
    """
    plan = open_plan(out)
    limits = limits_of(out)
    shot, half = frames_of(plan)
    scores = score_shot(
        shot, half_frames=half, limits=limits, allowances=allowances_of(plan)
    )
    return Case(plan.rig.shot.title, plan, shot, scores, limits)


def limits_of(out: Path) -> Limits:
    """The thresholds the brief changed, as OUT/scores.json records them."""
    path = out / "scores.json"
    changed = _json(path).get("limits", {}) if path.exists() else {}
    known = {f.name for f in fields(Limits)}
    return replace(STANDARD, **{k: v for k, v in changed.items() if k in known})


def allowances_of(plan: ShotPlan) -> dict[str, tuple[float, float, float]]:
    """Piece id to smallest and largest end scale and smallest scale on the way."""
    return {
        p.id: (p.allowance.scale_min, p.allowance.scale_max, p.allowance.dip_min)
        for p in plan.rig.drawing.pieces
    }


def judge_take(plan: ShotPlan, like: Shot, limits: Limits) -> Scores:
    """The verdict on a re-plan, at whole frames; `like` lends its header where it fits."""
    return score_shot(take_of(plan, like), limits=limits, allowances=allowances_of(plan))


def take_of(plan: ShotPlan, like: Shot) -> Shot:
    """The frames of a re-plan as the judge reads them, without a detour through text.

    A re-plan with other pieces, or another figure, is written out and read back instead.
    """
    rig, sample = plan.rig, plan.sample
    covers = covers_of(plan)
    ids = [piece.id for piece in rig.drawing.pieces]
    first = like.frames[0]
    if ids != [p.id for p in first.pieces] or not rig.figure.silhouette.equals_exact(
        like.figure, 1e-6 * rig.figure.height
    ):
        times = range(rig.shot.n_frames)
        lines = frame_lines(rig, sample, covers, times=times)
        return parse_frames([header_line(rig), *lines])
    scales = piece_scales(sample)
    last = max(rig.shot.n_frames - 1, 1)
    frames = []
    for row in range(rig.shot.n_frames):
        bones = tuple(
            replace(bone, outline=outline)
            for bone, outline in zip(
                first.bones, bone_outlines(rig, sample, row), strict=True
            )
        )
        pieces = tuple(
            replace(
                piece,
                bone=track.bone,
                region=covers[piece.id],
                depth=int(depth),
                scale=float(scale),
                outline=outline,
            )
            for piece, track, depth, scale, outline in zip(
                first.pieces, rig.tracks, rig.depth[row], scales[row],
                piece_outlines(rig, sample, row), strict=True,
            )
        )  # fmt: skip
        frames.append(
            replace(first, frame=float(row), master=row / last, bones=bones, pieces=pieces)
        )
    return replace(like, fps=float(rig.shot.fps), frames=tuple(frames))


def _json(path: Path) -> Mapping[str, Any]:
    try:
        values = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise DrawingError(
            f"{path}: no such file; give a folder that panelbeater plan has written"
        ) from None
    except (OSError, ValueError) as error:
        raise DrawingError(f"{path}: cannot be read as a plan: {error}") from None
    if not isinstance(values, dict):
        raise DrawingError(f"{path}: not a plan")
    return values
