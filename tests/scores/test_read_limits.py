"""The frames file at the limits of what it may hold: read, or refused with one line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import shapely

from panelbeater.errors import DrawingError
from panelbeater.scores import parse_frames, read_frames
from panelbeater.scores.read import MOST_BYTES
from tests.scores.shots import still_scene
from tests.scores.test_read import edit


def refused(line: int, **what: Any) -> str:
    """The line that refuses a file of which this one is changed; empty when it is read."""
    try:
        parse_frames(edit(line, lambda row: row.update(what)))
    except DrawingError as error:
        return str(error)
    return ""


def refused_piece(line: int, **what: Any) -> str:
    """The same, with the second piece of the line changed."""
    try:
        parse_frames(edit(line, lambda row: row["pieces"][1].update(what)))
    except DrawingError as error:
        return str(error)
    return ""


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (1e9, ""), (-1e9, ""), (1e9 + 0.5, "'ground' must be at most 1e+09"),
        (-1e9 - 0.5, "'ground' must be at most 1e+09"), (0, ""), (7, ""),
        (True, "'ground' must be a number"), ("7", "'ground' must be a number"),
        (None, "'ground' must be a number"),
    ],
)  # fmt: skip
def test_a_number_is_finite_and_no_larger_than_a_drawing_needs(
    value: object, words: str
) -> None:
    assert refused(1, ground=value).endswith(words)
    assert (refused(1, ground=value) == "") is (words == "")


@pytest.mark.parametrize(
    ("far", "is_read"), [(1e7, True), (1e7 + 0.5, False), (-1e7, True), (-1e7 - 0.5, False)]
)
def test_an_outline_reaches_no_farther_than_a_drawing_can(
    far: float, *, is_read: bool
) -> None:
    wkt = f"POLYGON ((0 40, {far!r} 40, {far!r} 70, 0 70, 0 40))"
    told = refused_piece(3, wkt=wkt)
    assert (told == "") is is_read
    assert is_read or "beyond 1e7" in told


@pytest.mark.parametrize(("near", "is_kept"), [(1e-100, True), (9e-101, False)])
def test_a_coordinate_is_nothing_below_what_can_be_divided_by(
    near: float, *, is_kept: bool
) -> None:
    def speck(row: dict[str, Any]) -> None:
        row["pieces"][1]["wkt"] = (
            f"POLYGON (({near!r} 40, 40 40, 40 70, 0 70, {near!r} 40))"
        )

    outline = parse_frames(edit(3, speck)).frames[1].pieces[1].outline
    xy = shapely.get_coordinates(outline)
    assert xy.tolist() == [
        [near if is_kept else 0, 40], [40, 40], [40, 70], [0, 70],
        [near if is_kept else 0, 40],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("scale", "visible", "is_read"),
    [(1e-9, True, True), (9e-10, True, False), (0, True, False), (0, False, True),
     (-1, True, False)],
)  # fmt: skip
def test_a_piece_that_is_seen_has_a_size(
    scale: float, *, visible: bool, is_read: bool
) -> None:
    told = refused_piece(4, scale=scale, visible=visible)
    assert (told == "") is is_read
    assert is_read or "'scale' must be above 0" in told


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ({"id": ""}, "'id' must be a text"), ({"id": 7}, "'id' must be a text"),
        ({"bone": ""}, "'bone' must be a text"), ({"region": None}, ""),
        ({"region": ""}, ""),
        ({"region": 7}, "'region' must be a text"), ({"depth": -3}, ""),
        ({"depth": 2.0}, ""), ({"depth": 2.5}, "'depth' must be a whole number"),
        ({"visible": 0}, "'visible' must be true or false"), ({"redrawn": True}, ""),
        ({"redrawn": "yes"}, "'redrawn' must be true or false"),
        ({"wkt": "POLYGON EMPTY", "visible": False}, ""),
        ({"wkt": "LINESTRING (0 0, 1 1)"}, "outline is not a POLYGON or MULTIPOLYGON text"),
        ({"wkt": "MULTIPOLYGON (((0 40, 40 40, 40 70, 0 40)))"}, ""),
    ],
)  # fmt: skip
def test_each_field_of_a_piece_is_what_it_must_be(what: dict[str, Any], words: str) -> None:
    told = refused_piece(4, **what)
    assert told.endswith(words)
    assert (told == "") is (words == "")
    assert told == "" or told.startswith("frames file, line 4, pieces[1]")


@pytest.mark.parametrize(
    ("what", "words"),
    [
        ({"only": ["leg_l"]}, ""), ({"only": []}, ""), ({"only": [7]}, "a list of texts"),
        ({"only": "leg_l"}, "a list of texts"), ({"reverse": True}, ""),
        ({"reverse": 1}, "true or false"), ({"version": 1.5}, "a whole number"),
        ({"version": 2}, "version 2 is not one this judge reads (1)"),
        ({"frames": 9}, "the file ends after 8 frames; the header promises 9"),
        ({"frames": 7}, "the file ends after 8 frames; the header promises 7"),
        ({"vehicle": "POLYGON EMPTY"}, "vehicle has no area"), ({"regions": []}, ""),
        ({"fps": 1000.5}, "fps must be from 0.1 to 1000"),
        ({"fps": 0.0999}, "fps must be from 0.1 to 1000"),
    ],
)  # fmt: skip
def test_each_field_of_the_header_is_what_it_must_be(
    what: dict[str, Any], words: str
) -> None:
    told = refused(1, **what)
    assert told.endswith(words)
    assert (told == "") is (words == "")


def test_a_file_of_no_frames_is_no_shot() -> None:
    header = json.loads(still_scene().lines()[0])
    for promised in (0, 1):
        with pytest.raises(DrawingError, match="line 1: the file ends after 0 frames"):
            parse_frames([json.dumps({**header, "frames": promised})])
    with pytest.raises(DrawingError, match="line 1: empty file"):
        parse_frames(["", "  "])


def test_frames_count_on_from_0_or_from_a_half() -> None:
    for first, is_read in ((0.0, True), (0.5, True), (1.0, False), (1.5, False)):
        scene = still_scene(3)
        scene.first = first
        lines = scene.lines()
        if is_read:
            shot = parse_frames(lines)
            assert [f.frame for f in shot.frames] == [first, first + 1, first + 2]
        else:
            with pytest.raises(DrawingError, match=f"line 2: frame is {first:g}; 0 or 0.5"):
                parse_frames(lines)
    with pytest.raises(DrawingError, match="line 5: frame is 9; 3 is expected"):
        parse_frames(edit(5, lambda row: row.update(frame=9)))


def test_what_the_header_says_of_a_shot_is_what_is_read() -> None:
    lines = edit(1, lambda row: row.update(reverse=True, only=["leg_l"], fps=30))
    shot = parse_frames(lines)
    assert (shot.reverse, shot.only, shot.fps, shot.ground) == (True, ("leg_l",), 30, 100)
    plain = parse_frames(still_scene().lines())
    assert (plain.reverse, plain.only) == (False, ())
    assert [piece.redrawn for piece in plain.pieces] == [None] * 3
    assert not any(piece.is_redrawn for piece in plain.frames[3].pieces)
    assert parse_frames(["", lines[0], "", *lines[1:], "\n"]).frames[7].frame == 7


def test_a_frames_file_is_no_larger_than_half_a_gibibyte(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert MOST_BYTES == 536_870_912
    path = tmp_path / "frames.ndjson"
    path.write_text("\n".join(still_scene().lines()), encoding="utf-8")
    size = path.stat().st_size
    monkeypatch.setattr("panelbeater.scores.read.MOST_BYTES", size)
    assert len(read_frames(path).frames) == 8
    monkeypatch.setattr("panelbeater.scores.read.MOST_BYTES", size - 1)
    with pytest.raises(DrawingError, match="larger than 512 MiB; plan a shorter shot"):
        read_frames(path)


def test_what_is_no_file_of_text_is_told(tmp_path: Path) -> None:
    with pytest.raises(DrawingError, match="it is no plain file"):
        read_frames(tmp_path)
    path = tmp_path / "frames.ndjson"
    path.write_bytes(b"\xff\xfe{}")
    with pytest.raises(DrawingError, match="not UTF-8 text; plan again"):
        read_frames(path)
