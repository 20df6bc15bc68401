"""Malformed frames files are refused with one line that says where."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from shapely import Polygon

from panelbeater.errors import DrawingError
from panelbeater.scores import parse_frames, read_frames, score_shot
from tests.scores.shots import still_scene

Row = dict[str, Any]


def test_a_frames_file_reads_back_what_was_written(tmp_path: Path) -> None:
    path = tmp_path / "frames.ndjson"
    path.write_text("\n".join(still_scene().lines()) + "\n", encoding="utf-8")
    shot = read_frames(path)
    assert [piece.id for piece in shot.pieces] == ["hood", "door", "wheel"]
    assert len(shot.frames) == 8
    assert shot.frames[3].pieces[2].outline.bounds == (0, 70, 40, 100)


def edit(line: int, change: Callable[[Row], object]) -> list[str]:
    lines = still_scene().lines()
    row = json.loads(lines[line - 1])
    change(row)
    lines[line - 1] = json.dumps(row)
    return lines


def cut(line: int) -> list[str]:
    lines = still_scene().lines()
    lines[line - 1] = lines[line - 1][:-40]
    return lines


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([], "line 1: empty file"),
        (["[1, 2]"], "line 1: a JSON object"),
        (cut(4), "line 4: not a JSON object"),
        (
            still_scene().lines()[:5],
            "line 5: the file ends after 4 frames; the header promises 8",
        ),
        (edit(1, lambda row: row.update(format="other")), "line 1: format"),
        (edit(1, lambda row: row.update(version=9)), "line 1: version 9"),
        (edit(1, lambda row: row.pop("ground")), "line 1: 'ground' is missing"),
        (edit(1, lambda row: row.update(fps=0)), "line 1: fps"),
        (
            edit(1, lambda row: row.update(figure="POLYGON EMPTY")),
            "line 1: figure has no area",
        ),
        (edit(1, lambda row: row.update(pieces=[])), "line 1: no pieces"),
        (edit(1, lambda row: row.update(only="arm_l")), "line 1.*a list of texts"),
        (edit(1, lambda row: row.update(ground="low")), "line 1.*a number"),
        (edit(1, lambda row: row.update(ground=10**400)), "line 1.*a finite number"),
        (edit(1, lambda row: row.update(ground=1e12)), "line 1.*at most"),
        (
            edit(1, lambda row: row["pieces"][0].update(wkt="POLYGON EMPTY")),
            "line 1.*outline has no area",
        ),
        (edit(3, lambda row: row.update(frame=5)), "line 3: frame is 5; 1 is expected"),
        (
            edit(2, lambda row: row["pieces"][1].update(wkt="POLYGON ((0 0")),
            "line 2.*'door'",
        ),
        (edit(2, lambda row: row["pieces"][1].update(wkt="POINT (0 0)")), "line 2.*'door'"),
        (edit(2, lambda row: row["pieces"][1].update(wkt=7)), "line 2.*'door'.*text"),
        (
            edit(
                2, lambda r: r["pieces"][1].update(wkt="POLYGON ((0 0, inf 1, 1 1, 0 0))")
            ),
            "line 2.*'door'.*finite",
        ),
        (edit(2, lambda row: row["pieces"][1].update(id="roof")), "line 2: piece 'roof'"),
        (edit(2, lambda row: row["pieces"][1].update(id="hood")), "line 2.*twice"),
        (edit(2, lambda row: row["pieces"][1].update(bone="tail")), "line 2.*'tail'"),
        (edit(2, lambda row: row["pieces"][1].update(depth=1.5)), "line 2.*whole number"),
        (edit(2, lambda row: row["pieces"][1].update(visible=1)), "line 2.*true or false"),
        (edit(2, lambda row: row["pieces"][1].update(scale=float("nan"))), "line 2.*NaN"),
        (
            edit(2, lambda row: row["pieces"][1].update(wkt="POLYGON EMPTY")),
            "line 2.*no area",
        ),
        (edit(2, lambda row: row.update(bones=None)), "line 2: 'bones' must be a list"),
    ],
)
def test_a_malformed_file_is_refused_with_its_line(lines: list[str], words: str) -> None:
    with pytest.raises(DrawingError, match=words) as caught:
        parse_frames(lines)
    assert "\n" not in str(caught.value)


def test_a_file_that_is_not_there_is_a_drawing_error(tmp_path: Path) -> None:
    with pytest.raises(DrawingError, match=r"cannot read frames file nothing\.ndjson"):
        read_frames(tmp_path / "nothing.ndjson")


def test_half_frames_of_another_shot_are_refused() -> None:
    scene = still_scene()
    other = still_scene()
    del other.looks["wheel"]
    other.first = 0.5
    with pytest.raises(DrawingError, match="other pieces"):
        score_shot(scene.shot(), half_frames=other.shot())


@pytest.mark.parametrize(("fps", "is_read"), [(0.1, True), (1000, True), (0.09, False)])
def test_a_frame_rate_is_one_that_a_shot_can_have(fps: float, *, is_read: bool) -> None:
    lines = edit(1, lambda row: row.update(fps=fps))
    if is_read:
        assert parse_frames(lines).fps == fps
    else:
        with pytest.raises(DrawingError, match="line 1: fps"):
            parse_frames(lines)


@pytest.mark.parametrize(("n_frames", "is_read"), [(8, True), (7, True), (6, False)])
def test_half_frames_are_as_many_as_frames_or_one_fewer(
    n_frames: int, *, is_read: bool
) -> None:
    scene = still_scene(n_frames)
    scene.first = 0.5
    lines = scene.lines()
    lines[0] = json.dumps({**json.loads(lines[0]), "frames": 8})
    if is_read:
        assert len(parse_frames(lines).frames) == n_frames
    else:
        with pytest.raises(DrawingError, match="ends after 6 frames"):
            parse_frames(lines)


def test_a_coordinate_too_small_to_divide_by_is_nothing() -> None:
    def speck(row: Row) -> None:
        door = row["pieces"][1]
        door["wkt"] = door["wkt"].replace("40 70", "1e-320 70")

    for line in (1, 4):
        lines = edit(line, speck)
        assert "1e-320" in lines[line - 1]
        shot = parse_frames(lines)
        broken = shot.pieces[1] if line == 1 else shot.frames[2].pieces[1]
        assert broken.outline.equals_exact(Polygon([(40, 40), (0, 70), (0, 70), (0, 40)]))
        assert not score_shot(shot).kept  # and GEOS warns of nothing
