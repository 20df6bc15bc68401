"""Every export keeps the rules of its format, as checkers that are not ours read them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser

from panelbeater.exports import export_gltf, export_lottie, export_rig_svg
from panelbeater.exports.animated_svg import END_HOLD_S
from tests.exports.proof.flat import flat_rig
from tests.exports.proof.players import gltf_report, needs_node_module, needs_program
from tests.exports.small_rig import small_rig

RIG, SAMPLE = small_rig(order_changes=True, pieces_change=True)


@pytest.fixture(scope="module")
def lottie(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    path = tmp_path_factory.mktemp("lottie") / "shot.json"
    export_lottie(RIG, SAMPLE, path)
    written: dict[str, Any] = json.loads(path.read_text())
    return written


def faults(document: dict[str, Any]) -> list[str]:
    """What the published schema of the Lottie specification objects to."""
    jsonschema = pytest.importorskip("jsonschema", reason="jsonschema is not installed")
    specs = pytest.importorskip("lottie_specs", reason="lottie-specs is not installed")
    schema = Path(specs.__file__).parent / "data" / "lottie.schema.json"
    checker = jsonschema.Draft202012Validator(json.loads(schema.read_text()))
    return [error.message for error in checker.iter_errors(document)]


def test_the_lottie_file_keeps_the_schema_of_its_specification(
    lottie: dict[str, Any],
) -> None:
    assert faults(lottie) == []


def test_the_schema_objects_to_a_broken_lottie_file(lottie: dict[str, Any]) -> None:
    broken = json.loads(json.dumps(lottie))
    broken["layers"][0]["ks"]["p"] = {"a": 1, "k": "here"}
    assert faults(broken) != []


def test_every_layer_says_flat_before_it_says_where(lottie: dict[str, Any]) -> None:
    for layer in lottie["layers"]:
        words = list(layer)
        assert words.index("ddd") < words.index("ks")


def paths_of(shape: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """All bezier paths inside a shape."""
    if shape["ty"] == "sh":
        yield shape["ks"]
    for inner in shape.get("it", []):
        yield from paths_of(inner)


def test_every_lottie_path_has_a_tangent_for_each_corner(lottie: dict[str, Any]) -> None:
    paths = [
        path for layer in lottie["layers"] for s in layer["shapes"] for path in paths_of(s)
    ]
    assert len(paths) > 20
    changing = [path for path in paths if path["a"]]
    assert changing  # the tub bends
    for path in paths:
        keys = [key["s"][0] for key in path["k"]] if path["a"] else [path["k"]]
        # The schema does not ask for it, but players join corner by corner.
        assert len({len(key[part]) for key in keys for part in "vio"}) == 1


@needs_program("node", "nodejs")
@needs_node_module("gltf-validator")
@pytest.mark.parametrize("is_flat", [True, False])
def test_the_khronos_validator_finds_no_fault(tmp_path: Path, *, is_flat: bool) -> None:
    export_gltf(flat_rig(RIG) if is_flat else RIG, SAMPLE, tmp_path / "shot.glb")
    issues = gltf_report(tmp_path / "shot.glb")["issues"]
    found = [(one["code"], one["pointer"]) for one in issues["messages"]
             if one["severity"] < 2]  # fmt: skip
    assert found == []


@needs_program("node", "nodejs")
@needs_node_module("gltf-validator")
def test_the_khronos_validator_sees_a_wrong_count(tmp_path: Path) -> None:
    export_gltf(RIG, SAMPLE, tmp_path / "shot.glb")
    whole = (tmp_path / "shot.glb").read_bytes()
    count = rb'"componentType":5125,"count":'
    wrong = re.sub(count + rb"\d", count + b"9", whole, count=1)
    assert wrong != whole
    (tmp_path / "wrong.glb").write_bytes(wrong)
    assert gltf_report(tmp_path / "wrong.glb")["issues"]["numErrors"] > 0


def test_another_reader_finds_every_piece_where_it_was_drawn(tmp_path: Path) -> None:
    """The meshes are placed by the nodes as they stand before the clip begins."""
    trimesh = pytest.importorskip("trimesh", reason="trimesh is not installed")
    export_gltf(flat_rig(RIG), SAMPLE, tmp_path / "shot.glb")
    scene = trimesh.load_scene(tmp_path / "shot.glb")
    zoom = 2.0 / RIG.figure.height
    for piece in RIG.drawing.pieces:
        matrix, name = scene.graph[f"{piece.id} drawing"]
        mesh = scene.geometry[name]
        assert mesh.area == pytest.approx(piece.outline.area, rel=1e-6)
        corners = trimesh.transform_points(mesh.vertices, matrix)
        low, high = corners[:, :2].min(axis=0), corners[:, :2].max(axis=0)
        x0, y0, x1, y1 = piece.outline.bounds
        assert high - low == pytest.approx([zoom * (x1 - x0), zoom * (y1 - y0)], rel=1e-5)
        assert low[1] == pytest.approx(zoom * (RIG.ground - y1), abs=1e-5)


@pytest.mark.browser
def test_the_browser_joins_keys_as_css_easing_level_1_says(
    browser: Browser, tmp_path: Path
) -> None:
    """`linear` is halfway at half time; `step-end` jumps at the very end of its step."""
    export_rig_svg(RIG, SAMPLE, tmp_path / "shot.svg")
    page = browser.new_page()
    page.goto((tmp_path / "shot.svg").as_uri())

    def at(frame: float, name: str, word: str) -> str:
        found: str = page.evaluate(
            """([t, name, word]) => {
                document.getAnimations().forEach(one => {
                    one.pause(); one.currentTime = 1000 * t; });
                return getComputedStyle(document.querySelector(name))[word];
            }""",
            [frame / RIG.shot.fps, name, word],
        )
        return found

    doubled = (
        ".v" + re.findall(r'class="m p\d+ v(\d+)"', (tmp_path / "shot.svg").read_text())[0]
    )
    states = [at(f, doubled, "visibility") for f in (11, 11.999, 12.001, 13)]
    assert states[0] == states[1] != states[2] == states[3]

    style = (tmp_path / "shot.svg").read_text()
    first, second = _two_keys(style, "p7")
    middle = (first[0] + second[0]) / 2
    whole = (RIG.shot.n_frames - 1) + END_HOLD_S * RIG.shot.fps
    matrix = [float(v) for v in re.findall(r"-?[\d.e-]+", at(
        middle / 100 * whole, ".p7", "transform"))]  # fmt: skip
    assert matrix[4:] == pytest.approx(
        [(first[1] + second[1]) / 2, (first[2] + second[2]) / 2], abs=0.01
    )
    page.close()


def _two_keys(style: str, name: str) -> tuple[list[float], list[float]]:
    """Percent, x and y of two neighbouring keys that are far apart."""
    rule = style.split(f"@keyframes {name}{{")[1].split("\n")[0]
    keys = [
        [float(v) for v in found]
        for found in re.findall(
            r"([\d.]+)%\{transform:translate\((-?[\d.]+)px,(-?[\d.]+)px", rule
        )
    ]
    way = [float(np.hypot(b[1] - a[1], b[2] - a[2])) for a, b in pairwise(keys)]
    widest = int(np.argmax(way))
    return keys[widest], keys[widest + 1]
