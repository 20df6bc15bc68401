"""plan.json holds the whole rig, and a file that is not a plan is refused in one line."""

from __future__ import annotations

import copy
import json
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
