"""Opens and judges again what was written earlier."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import numpy as np

from panelbeater.animation import ShotPlan
from panelbeater.errors import DrawingError
from panelbeater.rig import RigMotion, plan_from_json, sample_rig
from panelbeater.scores import STANDARD, Limits, Scores, read_frames, score_shot
from panelbeater.terms.timing import Move, Schedule
from panelbeater.verdict import allowances_of


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
