"""A plan of an earlier version opens as the shot it was, and can be written anew.

`plans/version-1.json` was written by the last release that wrote version 1: the trolley of
`tests/exports/small_rig.py`, numbers to six decimals.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner

from panelbeater.cli import main
from panelbeater.rig import plan_from_json, plan_to_json, sample_rig
from panelbeater.rig.plan_versions import STEPS, VERSION
from tests.exports.small_rig import small_rig

PLANS = Path(__file__).parent / "plans"


def _values(version: int) -> Any:
    return json.loads((PLANS / f"version-{version}.json").read_text(encoding="utf-8"))


def test_every_version_before_this_one_leads_here_and_has_a_file_to_prove_it() -> None:
    assert sorted(STEPS) == list(range(min(STEPS), VERSION))
    for version in STEPS:
        assert _values(version)["version"] == version


@pytest.mark.parametrize("version", sorted(STEPS))
def test_a_plan_of_an_earlier_version_plays_the_same_shot(version: int) -> None:
    values = _values(version)
    rig, assignment = plan_from_json(values)
    assert values == _values(version)  # reading changes nothing
    wanted = small_rig()[1]
    shown = sample_rig(rig, np.arange(rig.shot.n_frames, dtype=np.float64))
    assert shown.stage_from_piece == pytest.approx(wanted.stage_from_piece, abs=1e-3)
    assert shown.stage_from_bone == pytest.approx(wanted.stage_from_bone, abs=1e-3)
    again = plan_to_json(rig, assignment)
    assert again["version"] == VERSION
    assert plan_from_json(again)[0].shot == rig.shot


def test_the_command_line_takes_a_plan_of_an_earlier_version_on(tmp_path: Path) -> None:
    (tmp_path / "plan.json").write_text(json.dumps(_values(VERSION - 1)), encoding="utf-8")
    asked = ["export", str(tmp_path), "--to", "lottie", "--to", "layers"]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 0, done.output
    assert (tmp_path / "shot-lottie.json").exists()
