"""The exposure sheet reads like the trade's own."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from panelbeater.exports import export_sheet
from panelbeater.terms.rig import Rig, Sample
from tests.exports.small_rig import small_rig


def rows_of(rig: Rig, sample: Sample, folder: Path) -> list[dict[str, str]]:
    export_sheet(rig, sample, folder / "exposure-sheet.csv")
    with (folder / "exposure-sheet.csv").open(newline="") as stream:
        return list(csv.DictReader(stream))


def test_frames_count_from_one_and_time_from_zero(tmp_path: Path) -> None:
    rows = rows_of(*small_rig(), tmp_path)
    assert [row["frame"] for row in rows] == [str(n) for n in range(1, 25)]
    assert (rows[0]["time"], rows[-1]["time"]) == ("0:00", "0:23")
    assert (rows[0]["master"], rows[-1]["master"]) == ("0.0000", "1.0000")


def test_both_ends_leaving_and_landing_are_keys(tmp_path: Path) -> None:
    rig, sample = small_rig()
    rows = rows_of(rig, sample, tmp_path)
    track = rig.tracks[2]
    keys = [n for n, row in enumerate(rows) if row[track.piece].endswith("*")]
    assert keys == [0, track.start, track.end, 23]


def test_a_held_piece_shows_a_dash(tmp_path: Path) -> None:
    rows = rows_of(*small_rig(), tmp_path)
    assert [row["tub"] for row in rows[:4]] == ["1*", "-", "-", "-"]


def test_on_twos_no_new_drawing_falls_between(tmp_path: Path) -> None:
    rig, sample = small_rig(exposure=2)
    rows = rows_of(rig, sample, tmp_path)
    for piece in rig.drawing.pieces:
        assert {rows[n][piece.id] for n in range(1, 23, 2)} == {"-"}
        assert rows[23][piece.id].endswith("*")


def test_a_change_of_order_is_written_where_it_happens(tmp_path: Path) -> None:
    rows = rows_of(*small_rig(order_changes=True), tmp_path)
    assert rows[0]["order"] == "as drawn"
    assert rows[12]["order"] == "tub to 2, bonnet to 1, cab to 0"
    assert {row["order"] for row in rows[13:]} == {""}


def test_the_action_names_what_the_body_does_and_when_it_holds(tmp_path: Path) -> None:
    rows = rows_of(*small_rig(), tmp_path)
    assert rows[0]["action"] == rows[23]["action"] == "hold"
    assert "legs open" in rows[11]["action"]
    assert "body rises" in rows[11]["action"]
    assert rows[4]["action"] == "tub, lamp leave"


def test_one_swinging_arm_is_named_by_its_side(tmp_path: Path) -> None:
    rig, sample = small_rig()
    rig.action.turns[:] = rig.action.turns[-1]
    rig.action.root[:] = rig.action.root[-1]
    rig.action.scales[:] = 1.0
    rig.action.turns[:, 3] += np.linspace(0, 1, 24)  # upper_arm_l
    assert rows_of(rig, sample, tmp_path)[2]["action"] == "left arm swings"


def test_columns_run_from_far_to_near(tmp_path: Path) -> None:
    rig, sample = small_rig()
    rig.depth[:] = rig.depth[:, ::-1]
    columns = list(rows_of(rig, sample, tmp_path)[0])
    assert columns[5:] == [piece.id for piece in reversed(rig.drawing.pieces)]
