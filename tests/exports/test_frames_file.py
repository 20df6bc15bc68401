"""The frames file holds what other people's checks rely on."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from panelbeater.exports import export_frames, export_json, frame_lines
from tests.exports.small_rig import small_covers, small_rig

REGIONS = {cover.piece: cover.region for cover in small_covers()}


@pytest.fixture
def lines(tmp_path: Path) -> list[dict[str, Any]]:
    rig, sample = small_rig(order_changes=True)
    export_frames(rig, sample, tmp_path / "frames.ndjson", REGIONS)
    text = (tmp_path / "frames.ndjson").read_text()
    return [json.loads(line) for line in text.splitlines()]


def test_the_header_has_exactly_the_agreed_keys(lines: list[dict[str, Any]]) -> None:
    header = lines[0]
    assert list(header) == [
        "format", "version", "fps", "frames", "ground", "vehicle", "figure", "regions",
        "pieces",
    ]  # fmt: skip
    assert (header["format"], header["version"]) == ("panelbeater-frames", 1)
    assert list(header["regions"][0]) == ["id", "controller", "wkt"]
    assert list(header["pieces"][0]) == ["id", "kind", "signature", "mirror", "wkt"]


def test_every_frame_has_exactly_the_agreed_keys(lines: list[dict[str, Any]]) -> None:
    assert [line["frame"] for line in lines[1:]] == list(range(24))
    for line in lines[1:]:
        assert list(line) == ["frame", "master", "bones", "pieces"]
        assert list(line["bones"][0]) == ["id", "controller", "wkt"]
        assert list(line["pieces"][0]) == [
            "id", "bone", "region", "depth", "scale", "visible", "wkt",
        ]  # fmt: skip


def test_the_master_runs_from_vehicle_to_robot(lines: list[dict[str, Any]]) -> None:
    masters = [line["master"] for line in lines[1:]]
    assert (masters[0], masters[-1]) == (0.0, 1.0)
    assert masters == sorted(masters)


def test_frame_0_repeats_the_input_outlines(lines: list[dict[str, Any]]) -> None:
    for drawn, given in zip(lines[1]["pieces"], lines[0]["pieces"], strict=True):
        now, then = shapely.from_wkt(drawn["wkt"]), shapely.from_wkt(given["wkt"])
        assert now.symmetric_difference(then).area <= 1e-9 * then.area


def test_an_outline_kept_on_a_grid_loses_no_digit(tmp_path: Path) -> None:
    rig, sample = small_rig()
    tub = shapely.set_precision(rig.drawing.pieces[0].outline.buffer(3.3), 2**-12)
    pieces = (replace(rig.drawing.pieces[0], outline=tub), *rig.drawing.pieces[1:])
    rig = replace(rig, drawing=replace(rig.drawing, pieces=pieces))
    export_frames(rig, sample, tmp_path / "frames.ndjson", REGIONS)
    header = json.loads((tmp_path / "frames.ndjson").read_text().splitlines()[0])
    read = shapely.from_wkt(header["pieces"][0]["wkt"])
    assert (shapely.get_coordinates(read) == shapely.get_coordinates(tub)).all()


def test_scale_is_the_square_root_of_how_much_area_is_left(
    lines: list[dict[str, Any]],
) -> None:
    for drawn, given in zip(lines[-1]["pieces"], lines[0]["pieces"], strict=True):
        ratio = shapely.from_wkt(drawn["wkt"]).area / shapely.from_wkt(given["wkt"]).area
        assert drawn["scale"] == pytest.approx(math.sqrt(ratio))


def test_depth_follows_the_order_of_its_frame(lines: list[dict[str, Any]]) -> None:
    depths = [[piece["depth"] for piece in line["pieces"][:3]] for line in lines[1:]]
    assert depths[11] == [0, 1, 2]
    assert depths[12] == [2, 0, 1]


def test_half_frames_can_be_had_without_a_file() -> None:
    rig, sample = small_rig()
    half = sample.at([0, 1])
    lines = [json.loads(line) for line in frame_lines(rig, half, REGIONS, times=[0.5, 1.5])]
    assert [line["frame"] for line in lines] == [0.5, 1.5]
    assert lines[0]["master"] == pytest.approx(0.5 / 23)


def test_a_broken_run_leaves_the_old_file_and_no_litter(tmp_path: Path) -> None:
    rig, sample = small_rig()
    path = tmp_path / "frames.ndjson"
    path.write_text("the plan of yesterday")
    with pytest.raises(KeyError):
        export_frames(rig, sample, path, {})
    assert [p.name for p in tmp_path.iterdir()] == ["frames.ndjson"]
    assert path.read_text() == "the plan of yesterday"


def test_json_refuses_what_json_cannot_say(tmp_path: Path) -> None:
    path = tmp_path / "scores.json"
    with pytest.raises(ValueError, match="not JSON compliant"):
        export_json({"coverage": float("nan")}, path)
    assert not path.exists()


def test_json_writes_numpy_numbers_as_plain_ones(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    export_json({"b": np.float64(0.5), "a": np.array([[1, 2]])}, path)
    assert json.loads(path.read_text()) == {"b": 0.5, "a": [[1, 2]]}
    assert path.read_text().index('"b"') < path.read_text().index('"a"')
