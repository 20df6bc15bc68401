"""Handing a plan over: the flash meter looks first, and every format is there."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from shapely import box

from panelbeater.animation import ShotPlan
from panelbeater.cli import FORMATS as OFFERED
from panelbeater.cli import main
from panelbeater.deliver import deliver
from panelbeater.errors import DrawingError
from panelbeater.exports import export_json
from panelbeater.flashing import caution_of, flash_of
from panelbeater.handover import FORMATS, hand_over
from panelbeater.rig import plan_to_json
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.rig import Rig
from panelbeater.terms.timing import Schedule
from tests.exports.small_rig import small_covers, small_rig


def shot_plan(*, flashing: bool = False) -> ShotPlan:
    rig, sample = small_rig()
    if flashing:
        rig = lightning(rig)
    assignment = Assignment(small_covers(), 0.5, 0.6, "read", 9)
    return ShotPlan(rig, sample, assignment, Schedule((), "read"))


def lightning(rig: Rig) -> Rig:
    """The two largest pieces grown over the whole view, black and white in turn."""
    field = box(-400, -400, 600, 600)
    pieces = list(rig.drawing.pieces)
    for i, colour in ((0, "#000000"), (1, "#ffffff")):
        art = f'<path d="M-400-400H600V600H-400Z" fill="{colour}"/>'
        pieces[i] = replace(pieces[i], outline=field, artwork=art)
    depth = rig.depth.copy()
    depth[::2, [0, 1]] = [1, 0]
    drawing = replace(rig.drawing, pieces=tuple(pieces))
    return replace(rig, drawing=drawing, depth=depth)


def save(plan: ShotPlan, folder: Path) -> Path:
    export_json(plan_to_json(plan.rig, plan.assignment), folder / "plan.json")
    return folder


def test_the_command_line_offers_every_format() -> None:
    assert tuple(FORMATS) == OFFERED


@pytest.mark.parametrize("name", FORMATS)
def test_the_readme_explains_every_format(name: str) -> None:
    readme = Path(__file__).parents[2] / "README.md"
    assert f"`{name}`" in readme.read_text(encoding="utf-8")


def test_a_quiet_shot_carries_no_caution_and_a_flashing_one_does() -> None:
    plan = shot_plan()
    first = [0] * plan.rig.shot.n_frames
    still = plan.sample.at(first)
    assert caution_of(flash_of(replace(plan, sample=still))) == ""
    assert "fails the flash rule" in caution_of(flash_of(shot_plan(flashing=True)))


def test_a_flashing_shot_is_not_written_unless_asked(tmp_path: Path) -> None:
    plan = shot_plan(flashing=True)
    with pytest.raises(DrawingError, match=r"flashing: .*--allow-flashing"):
        hand_over(plan, ["lottie"], tmp_path / "away")
    assert not (tmp_path / "away").exists()
    done = hand_over(plan, ["lottie"], tmp_path / "away", allow_flashing=True)
    written = json.loads(done.done[0].paths[0].read_text())
    assert "seizures" in written["meta"]["d"]


def test_a_flashing_plan_is_delivered_as_stills_unless_asked(tmp_path: Path) -> None:
    plan = shot_plan(flashing=True)
    deliver(plan, tmp_path)
    page = (tmp_path / "preview.html").read_text(encoding="utf-8")
    drawing = (tmp_path / "rig.svg").read_text(encoding="utf-8")
    assert "<script" not in page
    assert "animate" not in drawing
    assert "@keyframes" not in drawing
    for text in (page, drawing):
        assert "--allow-flashing" in text
        assert "seizures" in text
    assert (tmp_path / "frames.ndjson").stat().st_size > 0
    deliver(plan, tmp_path, allow_flashing=True)
    assert "<script" in (tmp_path / "preview.html").read_text(encoding="utf-8")
    assert "@keyframes" in (tmp_path / "rig.svg").read_text(encoding="utf-8")


def test_a_shot_on_twos_is_measured_on_ones_too_as_the_page_plays_it() -> None:
    plan = shot_plan(flashing=True)
    depth = plan.rig.depth.copy()
    depth[:, [0, 1]] = [0, 1]
    depth[1::4, [0, 1]] = [1, 0]  # drawings that a shot on twos leaves out
    rig = replace(plan.rig, depth=depth, shot=replace(plan.rig.shot, exposure=2))
    assert flash_of(replace(plan, rig=rig)).fails


def test_a_flashing_shot_is_one_line_and_status_2(tmp_path: Path) -> None:
    folder = save(shot_plan(flashing=True), tmp_path)
    result = CliRunner().invoke(main, ["export", str(folder), "--to", "svg"])
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.count("\n") == 1
    assert not (folder / "shot-smil.svg").exists()


def test_export_tells_what_it_wrote(tmp_path: Path) -> None:
    folder = save(shot_plan(), tmp_path)
    words = ["export", str(folder), "--to", "lottie", "--to", "layers", "--to", "lottie"]
    result = CliRunner().invoke(main, [*words, "--json"])
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    assert [one["format"] for one in told["exports"]] == ["lottie", "layers"]
    assert not told["flash"]["fails"]
    for one in told["exports"]:
        assert all(Path(name).is_file() for name in one["files"])


def test_a_folder_without_a_plan_says_what_to_do(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["export", str(tmp_path), "--to", "svg"])
    assert result.exit_code == 2
    assert "no such plan; make one: panelbeater plan" in result.stderr


def test_on_twos_pictures_are_held(tmp_path: Path) -> None:
    plan = shot_plan()
    rig = replace(plan.rig, shot=replace(plan.rig.shot, exposure=2))
    hand_over(replace(plan, rig=rig), ["png"], tmp_path, width_px=80)
    frames = [p.read_bytes() for p in sorted((tmp_path / "frames").iterdir())]
    assert frames[10] == frames[11] != frames[12]
    assert frames[-1] != frames[0]
    assert np.unique([len(f) for f in frames]).size > 3
