"""The benchmark command fails on a broken promise, and its tables say what they mean."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import shapely

from benchmarks import run, scoreboard
from benchmarks.growth import barge
from benchmarks.measure import Options, Row
from benchmarks.plot import fitted
from benchmarks.sources import MINUTE, Case, folder_cases, own_cases, slice_of
from benchmarks.table import changes, line_of, medians, read_csv, write_csv
from panelbeater.drawing import read_drawing

GOOD = Row(
    "van x hand", "own", "panelbeater",
    {"pieces": 18, "coverage": 0.9, "own-region coverage": 0.8, "spill": 0.05, "s": 9.5},
)  # fmt: skip


def test_own_cases_are_every_vehicle_with_every_figure() -> None:
    assert len(own_cases()) == 50
    assert {case.name for case in slice_of("minute")} == set(MINUTE)
    nightly = [case for case in slice_of("nightly") if case.source == "own"]
    assert len({case.vehicle for case in nightly}) == 10
    assert len({case.figure for case in nightly}) == 5


def test_two_drawings_of_one_name_keep_apart(tmp_path: Path) -> None:
    for name in ("vehicle-a__van", "figure-a__one__hand", "figure-b__two__hand"):
        (tmp_path / f"{name}.svg").touch()
    assert [case.name for case in folder_cases(tmp_path)] == [
        "van x one hand",
        "van x two hand",
    ]


@pytest.mark.parametrize(
    ("row", "status"),
    [
        (GOOD, 0),
        (replace(GOOD, broken=("float 3",)), 1),
        (replace(GOOD, facts={}, said="nothing fits"), 1),
        (replace(GOOD, facts={}, said="CRASHED: ValueError: bad"), 1),
    ],
    ids=["kept", "broken", "no plan", "crashed"],
)
def test_the_command_fails_on_a_broken_promise_and_names_it(
    row: Row,
    status: int,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def planned(_case: Case, _options: Options) -> list[Row]:
        return [row]

    monkeypatch.setattr(run, "measure", planned)
    assert run.main(["--slice", "minute", "--only", "generator_van"]) == status
    told = capsys.readouterr().out
    for word in (*row.broken, row.said):
        assert word in told


def test_a_stored_run_reads_back_and_shows_what_moved(tmp_path: Path) -> None:
    stored = tmp_path / "run.csv"
    write_csv(stored, [GOOD], Options())
    facts = read_csv(stored)["van x hand / panelbeater"]
    assert facts["coverage"] == 0.9
    better = replace(GOOD, facts={**GOOD.facts, "coverage": 0.95})
    told = "\n".join(changes([better], read_csv(stored)))
    assert "coverage 0.9 -> 0.95" in told
    assert "spill 0.05" not in told
    assert "seed 1, budget 1, 72 frames" in stored.read_text(encoding="utf-8")


def test_the_scoreboard_says_which_targets_were_missed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stored = tmp_path / "run.csv"
    rival = replace(GOOD, way="linear sum", facts={**GOOD.facts, "coverage": 0.1})
    write_csv(
        stored, [GOOD, replace(GOOD, case="bus", broken=("float 3",)), rival], Options()
    )
    assert scoreboard.main([str(stored)]) == 0
    page = capsys.readouterr().out
    assert "| coverage, median | ≥ 0.93 | 0.9 | **miss** |" in page
    assert "| coverage, worst | ≥ 0.85 | 0.9 | met |" in page
    assert "All nine kept in 1 of 2 plans" in page
    assert "- MISS bus: float 3" in page
    assert "| linear sum | 0 of 1 |" in page
    other = tmp_path / "other.csv"
    write_csv(other, [replace(GOOD, case="tug", facts={"coverage": 0.7})], Options())
    assert scoreboard.main([str(stored), str(other), "--store", str(tmp_path)]) == 0
    assert "| coverage, worst | ≥ 0.85 | 0.7 | **miss** |" in (
        tmp_path / "SCOREBOARD.md"
    ).read_text(encoding="utf-8")
    baseline = read_csv(tmp_path / "baseline.csv")
    assert baseline["tug / panelbeater"] == {"coverage": 0.7}
    assert baseline["bus / panelbeater"]["coverage"] == 0.9


def test_a_rival_is_told_below_ours_and_left_out_of_the_medians() -> None:
    rival = replace(GOOD, way="linear sum", facts={**GOOD.facts, "coverage": 0.1})
    assert line_of(rival).startswith("    linear sum")
    timed = replace(GOOD, facts={**GOOD.facts, "s fold": 3.21})
    told = medians([timed, rival])
    assert "coverage: median 0.9, worst 0.9, best 0.9" in told
    assert "processor seconds by stage, medians: fold 3.2" in told


def test_a_power_law_gives_back_its_exponent() -> None:
    counts = [15.0, 30.0, 60.0, 120.0, 240.0]
    assert fitted(counts, [0.01 * n**1.7 for n in counts]) == pytest.approx(1.7)


@pytest.mark.parametrize("n_pieces", [15, 30])
def test_the_growing_barge_keeps_its_silhouette(n_pieces: int, tmp_path: Path) -> None:
    path = tmp_path / "barge.svg"
    path.write_text(barge(n_pieces, 32), encoding="utf-8")
    drawing = read_drawing(path)
    assert len(drawing.pieces) == n_pieces
    once = shapely.box(40, 60, 760, 360)
    assert drawing.silhouette.symmetric_difference(once).area < 0.01 * once.area


@pytest.mark.shot
@pytest.mark.slow
def test_the_minute_slice_keeps_every_hard_promise() -> None:
    assert run.main(["--slice", "minute", "--frames", "48", "--budget", "0.3"]) == 0
