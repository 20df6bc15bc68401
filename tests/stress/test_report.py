from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from panelbeater.cli import main
from panelbeater.deliver import deliver
from panelbeater.errors import DrawingError
from panelbeater.stress import (
    Report,
    appearance,
    compare_plans,
    comparison_json,
    open_case,
    sections,
    stress_plan,
    write_comparison,
    write_report,
)
from panelbeater.stress.advice import Advice, Gain
from panelbeater.stress.idea import Idea
from panelbeater.stress.robust import COLUMNS
from panelbeater.stress.strained import found_under_strain
from panelbeater.stress.trials import Trial
from tests.stress.bench import tractor_plan

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("tractor")
    deliver(tractor_plan(), out)
    return out


@pytest.fixture(scope="module")
def report(folder: Path) -> Report:
    return stress_plan(open_case(folder), workers=1)


def test_planning_again_from_the_file_gives_the_same_figures(report: Report) -> None:
    assert report.repeats


def test_every_strain_of_the_list_is_put_to_the_design(report: Report) -> None:
    names = [row.strain.name for row in report.rows]
    assert names == [
        "24 frames", "96 frames", "144 frames", "on twos", "on threes", "mirrored",
        "other proportions", "redrawn 1% off", "redrawn 2% off", "redrawn 3% off",
    ]  # fmt: skip
    mirrored = report.rows[5]
    assert set(mirrored.cells) == set(COLUMNS)
    assert all(cell.worse_by < 1e-6 for cell in mirrored.cells.values())
    proportions = report.rows[6].cells["coverage"]
    assert proportions.low <= proportions.middle <= proportions.high


def test_each_sort_of_strain_is_summed_up_in_one_sentence(report: Report) -> None:
    lines = found_under_strain(report)
    rows = {row.strain.name: row for row in report.rows}
    follow = [
        n for n in (24, 96, 144) if rows[f"{n} frames"].cells["tracking load"].is_hit
        and not rows[f"{n} frames"].broken
    ]  # fmt: skip
    follow += [48] if report.figures.on_target["tracking load"] else []
    start = f"from {min(follow)} frames on" if follow else "No length tried"
    assert start in lines[0]
    assert "24, 48, 96, 144" in lines[0]
    shaky = next((n for n in rows if n.startswith("redrawn") and rows[n].broken), None)
    assert any((shaky or "redrawn 3% off: every promise") in line for line in lines)
    assert found_under_strain(replace(report, rows=())) == []


def test_other_builds_are_told_by_degree(report: Report) -> None:
    row = next(row for row in report.rows if row.strain.name == "other proportions")
    own = f"{report.case.plan.rig.fold.shortest:.0%} here"
    fine = replace(row, broken=(), draws_broken=0, shortest=0.87)
    (line,) = found_under_strain(replace(report, rows=(fine,)))
    assert "fits other builds" in line
    assert "87%" in line
    assert own in line
    one = replace(row, broken=("leak",), draws_broken=1)
    (line,) = found_under_strain(replace(report, rows=(one,)))
    assert "1 breaks leak" in line
    two = replace(row, broken=("leak", "ground"), draws_broken=2)
    (line,) = found_under_strain(replace(report, rows=(two,)))
    assert "2 break leak and ground" in line


def test_the_plan_itself_shows_what_it_misses(report: Report) -> None:
    own = report.figures
    values = {**own.values, "kink": 99.0}
    missing = replace(own, values=values, on_target={**own.on_target, "kink": False})
    rows = [
        sections.strains(replace(report, figures=figures), "").split("</tr>")[1]
        for figures in (replace(own, on_target={}), missing)
    ]
    missed = [n for n in COLUMNS if n in values and not missing.on_target.get(n, True)]
    assert [row.count(sections.CROSS) for row in rows] == [0, len(missed)]


def test_where_all_stands_out_no_view_is_called_the_hardest(report: Report) -> None:
    fine = tuple(replace(view, share=1.0, lost=()) for view in report.views)
    assert "hardest" not in appearance.sights(replace(report, views=fine))
    one = (replace(fine[0], share=0.9, lost=("plate_00",)), *fine[1:])
    text = appearance.sights(replace(report, views=one))
    assert "hardest" in text
    assert "Lost first" in text


def test_dear_ideas_are_told_only_where_little_helps(report: Report) -> None:
    idea = Idea("give it a second", "so", Trial("length", frames=99), ("step",))
    dear = Advice(
        idea, (Gain("step", 1, 0.6, 0.8),), (Gain("bundles", 4, 6, -0.9),), (), ()
    )
    helps = [
        Advice(replace(idea, words=f"do {k}", trial=Trial(k)), dear.gains, (), (), ())
        for k in ("cue", "ease", "split")
    ]
    assert dear.is_trade
    few = replace(report, advice=(*helps[:2], dear))
    (line,) = [line for line in few.lines() if line.startswith("or choose")]
    assert line.endswith("(step 1 -> 0.6; but bundles 4 -> 6)")
    assert replace(report, advice=(*helps, dear)).trades() == []


def test_every_piece_is_dropped_once(report: Report) -> None:
    pieces = [p.id for p in report.case.plan.rig.drawing.pieces]
    assert sorted(c.piece for c in report.carriers) == sorted(pieces)
    weights = [c.weight for c in report.carriers]
    assert weights == sorted(weights, reverse=True)


def test_given_advice_was_tried_and_helps(report: Report) -> None:
    assert all(one.helps and (one.gains or one.mended) for one in report.told(6))
    assert len(report.told(1)) <= 1


def test_the_page_is_one_offline_file_with_the_caution(
    report: Report, tmp_path: Path
) -> None:
    page, values = write_report(report, tmp_path)
    text = page.read_text(encoding="utf-8")
    assert "photosensitive epilepsy" in text
    assert "<script" not in text
    assert "default-src 'none'" in text
    assert set(re.findall(r'(?:src|href)="(\w+):', text)) == {"data"}
    found = json.loads(values.read_text(encoding="utf-8"))
    assert found["format"] == "panelbeater-stress"
    assert found["verdict"] == report.case.scores.to_json()
    assert len(found["strains"]) == len(report.rows)


def test_two_processes_give_the_same_bytes_as_one(
    report: Report, folder: Path, tmp_path: Path
) -> None:
    alone = [path.read_bytes() for path in write_report(report, tmp_path / "one")]
    paired = stress_plan(open_case(folder), workers=2)
    assert [p.read_bytes() for p in write_report(paired, tmp_path / "two")] == alone


def test_a_plan_compared_with_itself_differs_in_nothing(folder: Path) -> None:
    found = compare_plans([folder, folder])
    assert not any(d.changed for d in (*found.promises, *found.scores))
    assert found.lines()[1:] == ["no promise, score or cover differs"]


def test_a_changed_cover_shows_in_the_comparison(folder: Path, tmp_path: Path) -> None:
    from panelbeater.stress.recast import animated, cast_of, other_places, relaid

    plan = tractor_plan()
    cover = other_places(plan, "plate_00")[0]
    other = tmp_path / "other"
    deliver(animated(relaid(cast_of(plan), [cover])), other)
    found = compare_plans([folder, other])
    assert found.moved == (("plate_00", ("foot_r", cover.region)),)
    changed = [d for d in found.scores if d.changed]
    assert changed
    kept = [{p.name: p.kept for p in case.scores.promises} for case in found.cases]
    for row in found.promises:  # a promise is better or worse only by being kept
        assert (row.better[1] is None) == (kept[0][row.name] == kept[1][row.name])
    told = found.lines()[1:-1]
    marked = ["(better)" in line or "(worse)" in line for line in told]
    assert marked == sorted(marked, reverse=True)
    page, _ = write_comparison(found, tmp_path / "report")
    text = page.read_text(encoding="utf-8")
    assert ">the plate 00<" in text
    assert ">right foot<" in text
    better, worse = ([d.better[1] for d in (*found.promises, *found.scores)].count(b)
                     for b in (True, False))  # fmt: skip
    first, second = found.names
    assert f"Against {first}: {second} {better} better, {worse} worse." in text
    assert comparison_json(found)["covers_changed"] == {
        "plate_00": ["foot_r", cover.region]
    }


def test_one_plan_is_too_few_to_compare(folder: Path) -> None:
    with pytest.raises(DrawingError, match="at least two"):
        compare_plans([folder])


def test_the_command_line_prints_the_comparison(folder: Path, tmp_path: Path) -> None:
    arguments = ["compare", str(folder), str(folder), "-o", str(tmp_path / "c"), "--json"]
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 0
    assert json.loads(done.stdout)["format"] == "panelbeater-compare"


def test_a_folder_without_a_plan_is_one_clear_line(tmp_path: Path) -> None:
    done = CliRunner().invoke(main, ["stress", str(tmp_path)])
    assert done.exit_code == 2
    assert done.stderr.count("\n") == 1
