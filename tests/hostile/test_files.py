"""Every hostile file ends in a plain line or a repair that is told, soon and in bounds."""

from __future__ import annotations

import os
import resource
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from panelbeater.brief import read_brief
from panelbeater.drawing import apply_piece_list, read_drawing
from panelbeater.drawing.piece_rows import read_rows
from panelbeater.errors import PanelbeaterError
from panelbeater.figure import read_figure
from panelbeater.reopen import open_plan
from panelbeater.scores import read_frames
from panelbeater.terms.drawing import Drawing
from panelbeater.unfold import read_pose
from tests.hostile.drawings import DRAWINGS, READ, REFUSED, TOLD, Hostile
from tests.hostile.good import FIGURE, VEHICLE
from tests.hostile.tables import BRIEFS, FRAMES, LISTS, PLANS, POSES
from tests.vehicles import yard_tractor

LONGEST_S = 5.0
MOST_KIB = 2**20
LONGEST_LINE = 1000


def _outcome(read: Callable[[Path], object], path: Path) -> tuple[str, str]:
    """What became of the file and what was said; time, memory and folder are watched."""
    before = {p: p.read_bytes() for p in path.parent.rglob("*") if p.is_file()}
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = time.process_time()
    try:
        found = read(path)
    except PanelbeaterError as error:
        outcome, said, status = REFUSED, str(error), error.exit_status
    else:
        status = 0
        warnings = getattr(found, "warnings", ())
        outcome, said = (TOLD if warnings else READ), "\n".join(warnings)
    assert status in (0, 2, 3)
    assert time.process_time() - start <= LONGEST_S
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert grown <= max(peak, MOST_KIB)
    after = {p: p.read_bytes() for p in path.parent.rglob("*") if p.is_file()}
    assert after == before
    return outcome, said


def _check(read: Callable[[Path], object], hostile: Hostile, path: Path) -> None:
    path.write_bytes(hostile.content())
    outcome, said = _outcome(read, path)
    assert (outcome, said) == (hostile.outcome, said)
    assert hostile.says in said
    for line in said.splitlines():
        assert path.name in line
        assert line.isprintable()
        assert len(line) <= LONGEST_LINE


def _named(files: tuple[Hostile, ...]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("hostile", files, ids=[file.name for file in files])


@_named(DRAWINGS)
def test_a_hostile_vehicle_is_refused_or_mended_in_plain_words(
    hostile: Hostile, tmp_path: Path
) -> None:
    _check(read_drawing, hostile, tmp_path / "lorry.svg")


@_named(DRAWINGS)
def test_a_hostile_figure_never_ends_in_a_crash(hostile: Hostile, tmp_path: Path) -> None:
    path = tmp_path / "figure.svg"
    path.write_bytes(hostile.content())
    outcome, said = _outcome(read_figure, path)
    if hostile.outcome == REFUSED:
        assert outcome == REFUSED
    assert all("figure.svg" in line for line in said.splitlines())


@_named(LISTS)
def test_a_broken_piece_list_is_told_line_by_line(hostile: Hostile, tmp_path: Path) -> None:
    def read(path: Path) -> Drawing:
        return apply_piece_list(yard_tractor(), path)

    _check(read, hostile, tmp_path / "pieces.csv")


@_named(BRIEFS)
def test_a_broken_brief_is_told_with_its_place(hostile: Hostile, tmp_path: Path) -> None:
    (tmp_path / "tractor.svg").write_text(VEHICLE, encoding="utf-8")
    (tmp_path / "figure.svg").write_text(FIGURE, encoding="utf-8")
    path = tmp_path / "brief.toml"
    if "pose" not in hostile.name:
        _check(read_brief, hostile, path)
        return
    path.write_bytes(hostile.content())
    outcome, said = _outcome(read_brief, path)
    assert (outcome, hostile.says in said) == (hostile.outcome, True)


@_named(POSES)
def test_a_broken_pose_is_told_in_one_line(hostile: Hostile, tmp_path: Path) -> None:
    _check(read_pose, hostile, tmp_path / "pose.json")


@_named(PLANS)
def test_a_tampered_plan_is_refused_in_one_line(hostile: Hostile, tmp_path: Path) -> None:
    _check(open_plan, hostile, tmp_path / "plan.json")


@_named(FRAMES)
def test_a_tampered_frames_file_names_file_and_line(
    hostile: Hostile, tmp_path: Path
) -> None:
    _check(read_frames, hostile, tmp_path / "frames.ndjson")


@pytest.mark.parametrize(
    "read", [read_drawing, read_figure, read_rows, read_brief, read_pose, read_frames]
)
def test_a_pipe_or_a_folder_is_refused_instead_of_waited_for(
    read: Callable[[Path], object], tmp_path: Path
) -> None:
    pipe, folder = tmp_path / "pipe.svg", tmp_path / "folder.svg"
    os.mkfifo(pipe)
    folder.mkdir()
    for path in (pipe, folder):
        with pytest.raises(PanelbeaterError, match="no plain file") as caught:
            read(path)
        assert path.name in str(caught.value)


def test_there_are_at_least_sixty_hostile_files() -> None:
    files = (*DRAWINGS, *LISTS, *BRIEFS, *POSES, *PLANS, *FRAMES)
    assert sum(file.outcome != READ for file in files) >= 60
