"""plan.json holds the whole rig, and a file that is not a plan is refused in one line."""

from __future__ import annotations

import copy
import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from panelbeater.errors import DrawingError
from panelbeater.rig import plan_from_json, plan_schema, plan_to_json, sample_rig
from panelbeater.rig.plan_versions import VERSION
from tests.yard import yard

SHOT = yard(24)


@pytest.fixture(scope="module")
def text() -> str:
    return json.dumps(plan_to_json(SHOT.rig, SHOT.assignment), allow_nan=False)


@pytest.fixture
def values(text: str) -> Any:
    return json.loads(text)


def test_a_plan_read_back_plays_the_same_shot(values: Any) -> None:
    rig, assignment = plan_from_json(values)
    times = np.arange(0, 24, 0.5)
    once, again = sample_rig(SHOT.rig, times), sample_rig(rig, times)
    assert np.array_equal(once.stage_from_piece, again.stage_from_piece)
    assert np.array_equal(once.stage_from_bone, again.stage_from_bone)
    assert np.array_equal(once.bone_scales, again.bone_scales)
    assert np.array_equal(SHOT.rig.depth, rig.depth)
    assert rig.shot == SHOT.rig.shot
    assert [c.region for c in assignment.covers] == [
        c.region for c in SHOT.assignment.covers
    ]


def test_outlines_and_wishes_come_back_as_drawn(values: Any) -> None:
    rig, _ = plan_from_json(values)
    for was, now in zip(SHOT.drawing.pieces, rig.drawing.pieces, strict=True):
        assert shapely.equals_exact(was.outline, now.outline, 0)
        assert (was.id, was.kind, was.depth, was.signature, was.mirror, was.allowance) == (
            now.id, now.kind, now.depth, now.signature, now.mirror, now.allowance
        )  # fmt: skip
    for bone, other in zip(SHOT.figure.bones, rig.figure.bones, strict=True):
        assert shapely.equals_exact(bone.region, other.region, 0)


def test_what_a_piece_goes_round_comes_back_and_is_not_written_where_nothing_is(
    values: Any,
) -> None:
    assert "clear" not in values["assignment"]["asked"]
    asked = replace(SHOT.assignment.asked, clear={"cab": ("roof", "arm_l")})
    plan = plan_to_json(SHOT.rig, replace(SHOT.assignment, asked=asked))
    _, assignment = plan_from_json(json.loads(json.dumps(plan)))
    assert assignment.asked.clear == asked.clear


def test_writing_what_was_read_gives_the_same_text(text: str, values: Any) -> None:
    assert json.dumps(plan_to_json(*plan_from_json(values)), allow_nan=False) == text


@pytest.mark.parametrize("version", [VERSION + 1, VERSION - 2, "1", None, 1.5])
def test_another_version_is_refused_in_one_line(values: Any, version: Any) -> None:
    values["version"] = version
    with pytest.raises(
        DrawingError, match=r"^lorry\.json: version .*this reader takes"
    ) as caught:
        plan_from_json(values, name="lorry.json")
    assert "\n" not in str(caught.value)
    assert caught.value.exit_status == 2


@pytest.mark.parametrize("values", [None, [], "plan", {}, {"version": VERSION}])
def test_something_that_is_no_plan_is_refused_in_one_line(values: Any) -> None:
    with pytest.raises(DrawingError, match=r"^plan\.json: ") as caught:
        plan_from_json(values)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("path", "value", "named"),
    [
        (("pieces", 0, "kind"), "sail", "pieces.0.kind"),
        (("tracks", 2, "start"), "soon", "tracks.2.start"),
        (("bones", 4, "controller"), "tail", "bones.4.controller"),
        (("ground",), None, "ground"),
        (("extra",), 1, "extra"),
    ],
)
def test_a_wrong_value_is_named_by_its_place(
    values: Any, path: tuple[Any, ...], value: Any, named: str
) -> None:
    inner = values
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    with pytest.raises(DrawingError, match=named):
        plan_from_json(values)


@pytest.mark.parametrize(
    ("path", "value", "says"),
    [
        (("shot", "n_frames"), 0, "a shot of 0 frames"),
        (("shot", "exposure"), 999, "an exposure of 999 frames"),
        (("tracks", 0, "bone"), "tail", "no bone 'tail' to ride"),
        (("tracks", 0, "end"), 0, "moves from"),
        (("tracks", 0, "key_u", 0), 0.5, "do not rise from 0 to 1"),
        (("tracks", 0, "bending"), [5, 5], "bends from 5 to 5"),
        (("tracks", 0, "swap"), 3, "has no drawing to swap to"),
        (("fold", "pose", "root"), [1.0], "expected numbers of shape"),
        (("fold", "pose", "root"), [1e300, 0.0], "beyond"),
        (("pieces", 0, "outline"), "POLYGON ((0 0, 1 1, 0 0, 0 0))", "has no area"),
        (("pieces", 0, "outline"), "POLYGON ((0 0, 1e9 0, 0 1, 0 0))", "reaches beyond"),
    ],
)
def test_a_value_that_no_shot_can_have_is_refused_in_words(
    values: Any, path: tuple[Any, ...], value: Any, says: str
) -> None:
    inner = values
    for key in path[:-1]:
        inner = inner[key]
    inner[path[-1]] = value
    with pytest.raises(DrawingError, match=says) as caught:
        plan_from_json(values)
    assert "\n" not in str(caught.value)


def test_two_pieces_of_one_id_and_no_pieces_at_all_are_refused(values: Any) -> None:
    for rows in (values["pieces"], values["tracks"]):
        rows[1] = {**rows[1], "id" if "id" in rows[1] else "piece": rows[0].get("id")
                   or rows[0]["piece"]}  # fmt: skip
    with pytest.raises(DrawingError, match="two pieces have one id"):
        plan_from_json(values)
    bare = {**values, "pieces": [], "tracks": []}
    with pytest.raises(DrawingError, match="there are no pieces"):
        plan_from_json(bare)


def test_bends_second_drawings_and_key_poses_come_back(values: Any) -> None:
    values["tracks"][0]["bend"] = {"axis": 0.5, "curvature": 0.01, "taper": 0.1}
    values["pieces"][0]["redrawn"] = {
        "outline": values["pieces"][0]["outline"], "artwork": "<path/>", "colour": "#123456"
    }  # fmt: skip
    values["tracks"][0]["swap"] = 9
    values["poses"] = [
        {"name": "low", "frame": 9, "root": [1.0, 2.0], "turns": {"torso": 0.1},
         "scales": {"shank_l": [0.9, 1.0]}}
    ]  # fmt: skip
    rig, assignment = plan_from_json(values)
    assert rig.tracks[0].bend is not None
    assert rig.tracks[0].bend.curvature == 0.01
    assert json.loads(json.dumps(plan_to_json(rig, assignment))) == values


def test_bones_in_another_order_are_refused(values: Any) -> None:
    values["bones"] = values["bones"][::-1]
    with pytest.raises(DrawingError, match="in this order"):
        plan_from_json(values)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [({"turns": {"tail": 0.1}}, "no bone 'tail'"), ({"frame": 999}, "no frame 999")],
)
def test_a_key_pose_that_fits_no_body_or_frame_is_refused(
    values: Any, wrong: dict[str, Any], says: str
) -> None:
    pose = {"name": "low", "frame": 9, "root": None, "turns": {}, "scales": {}}
    assert plan_from_json({**values, "poses": [pose]})[0].poses[0].frame == 9
    with pytest.raises(DrawingError, match=says):
        plan_from_json({**values, "poses": [{**pose, **wrong}]})


def test_an_outline_that_is_a_line_is_refused(values: Any) -> None:
    values["pieces"][0]["outline"] = "LINESTRING (0 0, 1 1)"
    with pytest.raises(DrawingError, match="polygon"):
        plan_from_json(values)


def test_the_published_schema_names_every_key_of_the_file(values: Any) -> None:
    schema = plan_schema()
    # A key that came later has a default, so that plans of before still open.
    assert sorted(schema["properties"]) == sorted(values)
    assert set(schema["required"]) == set(values) - {"poses"}
    assert schema["additionalProperties"] is False
    pieces = schema["$defs"]["PieceNoun"]
    assert sorted(pieces["properties"]) == sorted(values["pieces"][0])
    assert json.loads(json.dumps(schema)) == schema


def test_reading_a_plan_leaves_its_values_alone(values: Any) -> None:
    before = copy.deepcopy(values)
    plan_from_json(values)
    assert values == before
