from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from panelbeater.brief import read_brief
from panelbeater.errors import DrawingError
from panelbeater.flashing import flash_json, flash_of, flash_warning
from panelbeater.scores import STANDARD, Placed, RuleBreak, measure_flashes
from panelbeater.verdict import headlines, judge, scores_json
from tests.stress.bench import tractor_case, tractor_plan


def brief(tmp_path: Path, limits: str) -> Path:
    path = tmp_path / "brief.toml"
    path.write_text(f'vehicle = "v.svg"\nfigure = "f.svg"\n[limits]\n{limits}\n')
    return path


def test_a_brief_changes_the_thresholds_it_names(tmp_path: Path) -> None:
    found = read_brief(brief(tmp_path, "bundles_p95 = 5\nhold_final_frames = 18")).limits
    assert found == replace(STANDARD, bundles_p95=5.0, hold_final_frames=18)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("bundels_p95 = 5", "brief.toml:4: .*did you mean 'bundles_p95'"),
        ("coverage = -1", "brief.toml:4: .*at least 0"),
        ("hold_final_frames = 1.5", "a whole number"),
    ],
)
def test_a_wrong_threshold_is_named_with_its_line(
    tmp_path: Path, line: str, words: str
) -> None:
    with pytest.raises(DrawingError, match=words):
        read_brief(brief(tmp_path, line))


def test_changed_thresholds_are_judged_by_and_written_down() -> None:
    plan = tractor_plan()
    strict = replace(STANDARD, coverage=0.999)
    scores = judge(plan, strict)
    coverage = next(s for s in scores.layout if s.name == "coverage")
    assert coverage.target is not None
    assert coverage.target.low == 0.999
    written = scores_json(plan, scores, strict)
    assert written["limits"] == {"coverage": 0.999}
    assert written["flash"] == flash_json(flash_of(plan))


def test_rules_are_judged_once_a_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    judged = list[int]()

    def once(placed: Sequence[Placed], *_: object, **__: object) -> tuple[RuleBreak, ...]:
        judged.append(len(placed))
        return (RuleBreak("mirror", ("plate_00",), "stands alone"),)

    monkeypatch.setattr("panelbeater.verdict.judge_rules", once)
    plan = replace(tractor_plan())
    scores, limits = tractor_case().scores, replace(STANDARD, coverage=0.5)
    assert "rule: " in "\n".join(headlines(plan, scores, limits))
    assert len(scores_json(plan, scores, limits)["rules"]) == 1
    assert judged == [len(plan.rig.drawing.pieces)]


def test_a_blinking_shot_is_warned_of_and_a_still_one_is_not() -> None:
    frames = np.zeros((48, 32, 32, 3), dtype=np.uint8)
    assert flash_warning(measure_flashes(frames, 24)) == []
    frames[::4] = frames[1::4] = 255
    (line,) = flash_warning(measure_flashes(frames, 24))
    assert "changes of light" in line
    assert "WCAG 2.2" in line
