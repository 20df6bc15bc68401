"""Panelbeater from Python: every example in its documentation runs and is true."""

from __future__ import annotations

import doctest
import functools
import inspect
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

import panelbeater
from panelbeater import library
from panelbeater.errors import DrawingError
from panelbeater.rig import pose_at
from panelbeater.terms.figure import BONE_IDS
from tests.shots.drawn import write_drawings

PUBLIC = [name for name in panelbeater.__all__ if name != "__version__"]


@pytest.fixture(scope="module")
def drawings(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    return write_drawings(tmp_path_factory.mktemp("drawings"))


@pytest.fixture(scope="module")
def shot(drawings: tuple[Path, Path]) -> panelbeater.Plan:
    return panelbeater.plan(*drawings, frames=48, budget=0.1, title="Up <it> goes")


def examples() -> Iterator[doctest.DocTest]:
    finder = doctest.DocTestFinder(exclude_empty=True)
    for name in PUBLIC:
        yield from finder.find(getattr(library, name), name)


def test_every_public_thing_has_an_example() -> None:
    shown = {test.name for test in examples() if test.examples}
    methods = {
        f"Plan.{name}"
        for name, member in inspect.getmembers(library.Plan, inspect.isfunction)
        if not name.startswith("_")
    }
    assert {*PUBLIC, *methods} == shown


@pytest.mark.solve
@pytest.mark.shot
def test_every_example_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    # All examples plan the same shot: once is enough.
    monkeypatch.setattr(library, "plan", functools.cache(library.plan))
    runner = doctest.DocTestRunner(optionflags=doctest.FAIL_FAST)
    for test in examples():
        runner.run(test)
    assert runner.summarize(verbose=False).failed == 0
    assert runner.tries > 20


@pytest.mark.parametrize("heavy", ["numpy", "shapely", "ortools", "pydantic"])
def test_importing_it_loads_nothing_heavy(heavy: str) -> None:
    look = "import sys, panelbeater; assert panelbeater.__version__; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", look], check=True, capture_output=True)
    assert heavy not in run.stdout.decode().split()


def test_what_is_not_there_is_said() -> None:
    assert set(PUBLIC) <= set(dir(panelbeater))
    with pytest.raises(AttributeError, match="'planne'"):
        _ = panelbeater.planne  # type: ignore[attr-defined]


@pytest.mark.solve
def test_a_sample_is_the_vehicle_first_and_the_robot_last(shot: panelbeater.Plan) -> None:
    ends = shot.sample([0, 47]).stage_from_piece
    for i, (piece, cover) in enumerate(
        zip(shot.rig.drawing.pieces, shot.assignment.covers, strict=True)
    ):
        centre = piece.outline.centroid
        drawn = [[1, 0, centre.x], [0, 1, centre.y], [0, 0, 1]]
        assert ends[0, i] == pytest.approx(np.array(drawn), abs=1e-6)
        assert ends[1, i] == pytest.approx(cover.stage_from_piece, abs=1e-6)


@pytest.mark.solve
def test_the_armour_follows_another_body(shot: panelbeater.Plan) -> None:
    times = np.arange(48.0)
    still = pose_at(shot.rig.action, np.full(48, 47.0))
    held = shot.sample(times, pose=still)
    assert np.ptp(held.stage_from_bone, axis=0).max() == 0
    assert np.ptp(held.stage_from_piece, axis=0).max() > 1


@pytest.mark.solve
def test_a_notebook_shows_the_sheet_and_the_verdict(shot: panelbeater.Plan) -> None:
    html = shot._repr_html_()
    assert 'src="data:image/png;base64,iVBOR' in html
    assert "Up &lt;it&gt; goes" in html
    assert "vehicle error" in html
    assert "://" not in html  # four letters of a picture may well spell http


@pytest.mark.solve
def test_a_written_plan_opens_as_the_same_rig(
    shot: panelbeater.Plan, tmp_path: Path
) -> None:
    shot.write(tmp_path / "out")
    again = panelbeater.open_plan(tmp_path / "out")
    assert np.array_equal(again.sample().stage_from_piece, shot.sample().stage_from_piece)
    assert [p.value for p in again.scores.promises] == [
        p.value for p in shot.scores.promises
    ]


@pytest.mark.solve
def test_a_pose_file_is_hit_exactly(drawings: tuple[Path, Path], tmp_path: Path) -> None:
    turns = {"upper_arm_l": -1.1, "forearm_l": 0.4, "head": 0.2}
    path = tmp_path / "wave.json"
    path.write_text(json.dumps(
        {"format": "panelbeater-pose", "version": 1, "frame": 24, "turns": turns}
    ))  # fmt: skip
    shot = panelbeater.plan(*drawings, frames=48, budget=0.1, poses=[path])
    for name, turn in turns.items():
        bone = BONE_IDS.index(name)
        found = shot.rig.action.turns[24, bone] - shot.rig.action.turns[-1, bone]
        assert found == pytest.approx(turn, abs=1e-6)


def test_bad_options_are_told_all_at_once(drawings: tuple[Path, Path]) -> None:
    with pytest.raises(DrawingError) as error:
        panelbeater.plan(*drawings, frames=3, fps=0)
    assert str(error.value).splitlines() == [
        "frames = 3: give 24 to 1000", "fps = 0: give 1 to 120"
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["", "[1", "[]"])
def test_what_is_no_plan_is_refused(tmp_path: Path, text: str) -> None:
    (tmp_path / "plan.json").write_text(text)
    with pytest.raises(DrawingError, match=r"plan\.json"):
        panelbeater.open_plan(tmp_path)
    with pytest.raises(DrawingError, match="no such plan"):
        panelbeater.open_plan(tmp_path / "none.json")
