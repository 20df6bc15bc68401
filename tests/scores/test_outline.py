"""Outlines that cross themselves, areas off the ramp, and pieces with two drawings."""

from __future__ import annotations

import json
from typing import Any

import pytest
from shapely import Polygon, from_wkt

from panelbeater.exports.frames import frame_lines, header_line
from panelbeater.scores import parse_frames
from panelbeater.scores.limits import STANDARD
from panelbeater.scores.motion.outline import score_outlines
from panelbeater.scores.promises.budget import judge_budget
from panelbeater.scores.tracks import Tracks, lay_out
from tests.exports.small_rig import small_covers, small_rig

RIG, SAMPLE = small_rig(pieces_change=True)
COVERS = {cover.piece: cover.region for cover in small_covers()}
TUB, BONNET = 0, 2


def lines() -> list[dict[str, Any]]:
    texts = [header_line(RIG), *frame_lines(RIG, SAMPLE, COVERS, times=range(24))]
    return [json.loads(text) for text in texts]


def judged(rows: list[dict[str, Any]]) -> Tracks:
    return lay_out(parse_frames(json.dumps(row) for row in rows), STANDARD)


def test_bent_and_redrawn_pieces_are_sound() -> None:
    crossed, off = score_outlines(judged(lines()))
    assert crossed.value == 0
    assert off.value < 0.005
    assert crossed.on_target
    assert off.on_target


def test_an_outline_that_crosses_itself_is_counted() -> None:
    rows = lines()
    rows[10]["pieces"][TUB]["wkt"] = Polygon([(0, 0), (90, 90), (90, 0), (0, 80)]).wkt
    crossed, _ = score_outlines(judged(rows))
    assert crossed.value == 1
    assert crossed.note == "tub"
    assert not crossed.on_target


def test_an_outline_that_only_touches_itself_is_not_counted() -> None:
    rows = lines()
    # Two squares that meet in a corner, drawn in one go: no area is gained or lost.
    eight = [(0, 0), (20, 0), (20, 20), (40, 20), (40, 40), (20, 40), (20, 20), (0, 20)]
    rows[10]["pieces"][TUB]["wkt"] = Polygon(eight).wkt
    crossed, _ = score_outlines(judged(rows))
    assert (crossed.value, crossed.note) == (0, "")


def test_a_loss_of_area_is_told() -> None:
    rows = lines()
    at = rows[14]["pieces"][TUB]
    shape = from_wkt(at["wkt"])
    at["wkt"] = shape.buffer(-2.0, join_style="mitre").wkt
    _, off = score_outlines(judged(rows))
    lost = 1 - shape.buffer(-2.0, join_style="mitre").area / shape.area
    assert off.value == pytest.approx(lost, abs=0.005)


def test_the_size_of_a_redrawn_piece_is_judged_by_the_drawing_it_shows() -> None:
    rows = lines()
    names = [row["id"] for row in rows[0]["pieces"]]
    assert rows[0]["pieces"][BONNET]["redrawn"]
    fine = judge_budget(judged(rows))
    assert not [b for b in fine.broken if names[BONNET] in b.pieces]
    for row in rows[13:]:  # half as wide again: larger than it says
        drawn = row["pieces"][BONNET]
        drawn["wkt"] = from_wkt(drawn["wkt"]).buffer(4).wkt
    cheat = judge_budget(judged(rows))
    assert [b for b in cheat.broken if names[BONNET] in b.pieces]
