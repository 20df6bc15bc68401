"""What lands in the animator's folder, with a shot planned by hand."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from panelbeater.animation import ShotPlan
from panelbeater.deliver import deliver
from panelbeater.errors import DrawingError
from panelbeater.faults import write_faults
from panelbeater.rig import sample_rig
from panelbeater.verdict import captions, covers_of, judge, scores_json
from tests.yard import yard

FIXED_FILES = (
    "contact-sheet.png", "exposure-sheet.csv", "frames.ndjson", "plan.json", "preview.html",
    "rig.svg", "scores.json",
)  # fmt: skip


@pytest.fixture(scope="module")
def plan() -> ShotPlan:
    shot = yard(24)
    return ShotPlan(shot.rig, shot.sample, shot.assignment, shot.schedule)


@pytest.fixture(scope="module")
def out(plan: ShotPlan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("delivered") / "deep" / "out"
    deliver(plan, folder)
    return folder


def test_every_fixed_file_is_there_and_none_is_half_written(out: Path) -> None:
    names = sorted(path.name for path in out.iterdir())
    assert names == sorted([*FIXED_FILES, "pieces.csv"])
    assert all(path.stat().st_size > 0 for path in out.iterdir())


def test_the_verdict_stands_beside_what_the_solver_proved(
    plan: ShotPlan, out: Path
) -> None:
    verdict = json.loads((out / "scores.json").read_text(encoding="utf-8"))
    assert verdict == json.loads(json.dumps(scores_json(plan, judge(plan))))
    assert verdict["assignment"]["proof"] == "by hand"
    assert set(verdict["assignment"]) >= {"value", "bound", "gap", "n_candidates"}
    assert verdict["fold"]["leak"] <= 0.001


def test_captions_say_which_promises_are_broken(plan: ShotPlan) -> None:
    scores = judge(plan)
    broken = [promise.name for promise in scores.promises if not promise.kept]
    said = captions(scores)
    assert "coverage" in said
    assert said["promises"] == (
        "all kept" if not broken else f"broken: {', '.join(broken)}"
    )


def test_a_piece_thrown_off_the_body_is_told_and_shown(
    plan: ShotPlan, tmp_path: Path
) -> None:
    track = plan.rig.tracks[0]
    thrown = track.key_channels.copy()
    thrown[len(thrown) // 2, :2] += 10 * plan.rig.figure.height
    tracks = (replace(track, key_channels=thrown), *plan.rig.tracks[1:])
    rig = replace(plan.rig, tracks=tracks)
    frames = np.arange(rig.shot.n_frames, dtype=np.float64)
    bad = replace(plan, rig=rig, sample=sample_rig(rig, frames))
    scores = judge(bad)
    (place,) = next(p for p in scores.promises if p.name == "float").broken
    assert place.pieces == (track.piece,)
    assert place.worst is not None
    assert place.worst.depth > 5 * rig.figure.height
    write_faults(bad, scores, tmp_path)
    assert (tmp_path / "broken-promises.png").stat().st_size > 0
    write_faults(plan, judge(plan), tmp_path)
    assert not list(tmp_path.iterdir())


def test_covers_name_each_piece_once(plan: ShotPlan) -> None:
    covers = covers_of(plan)
    assert list(covers) == [p.id for p in plan.rig.drawing.pieces]


@pytest.mark.slow
def test_an_edited_piece_list_is_kept_and_the_inferred_one_laid_beside_it(
    plan: ShotPlan, tmp_path: Path
) -> None:
    edited = "piece,kind\ncab,panel\n"
    (tmp_path / "pieces.csv").write_text(edited, encoding="utf-8")
    deliver(plan, tmp_path)
    assert (tmp_path / "pieces.csv").read_text(encoding="utf-8") == edited
    beside = (tmp_path / "pieces-inferred.csv").read_text(encoding="utf-8")
    assert "wheel_rear" in beside
    # An untouched list needs no copy beside it.
    (tmp_path / "pieces.csv").write_text(beside, encoding="utf-8", newline="")
    (tmp_path / "pieces.csv").write_bytes((tmp_path / "pieces-inferred.csv").read_bytes())
    deliver(plan, tmp_path)
    assert not (tmp_path / "pieces-inferred.csv").exists()


def test_a_folder_that_cannot_be_made_is_one_line(plan: ShotPlan, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(DrawingError, match="cannot make this folder"):
        deliver(plan, tmp_path / "file" / "out")
