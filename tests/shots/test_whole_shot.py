"""From two drawings to a folder: files, promises, repeatable bytes, interruption."""

from __future__ import annotations

import itertools
import json
import os
import signal
import subprocess
import sys
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from panelbeater.animation import ShotPlan
from panelbeater.deliver import deliver
from panelbeater.drawing import read_drawing
from panelbeater.geometry.stage import piece_outlines
from panelbeater.rig import plan_from_json, sample_rig
from panelbeater.scores import Scores, read_frames, score_shot
from panelbeater.shot import Request, plan_shot
from panelbeater.terms.drawing import Drawing, Shape
from panelbeater.terms.figure import BONE_IDS, CONTROLLERS
from panelbeater.terms.timing import ShotOptions
from tests.shots.drawn import tractor_svg, write_drawings
from tests.shots.test_deliver import FIXED_FILES

ROOT = Path(__file__).parents[2]
N_FRAMES, BUDGET = 24, 0.2
HEADER = [
    "format", "version", "fps", "frames", "ground", "vehicle", "figure", "regions",
    "pieces",
]  # fmt: skip

pytestmark = [pytest.mark.shot, pytest.mark.slow]


@pytest.fixture(scope="module")
def drawings(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("drawings")
    write_drawings(folder)
    return folder


@pytest.fixture(scope="module")
def plan(drawings: Path) -> ShotPlan:
    shot = ShotOptions(n_frames=N_FRAMES, budget=BUDGET, title="tractor")
    return plan_shot(Request(drawings / "tractor.svg", drawings / "figure.svg", shot=shot))


@pytest.fixture(scope="module")
def out(drawings: Path) -> Path:
    return drawings / "out"


@pytest.fixture(scope="module")
def scores(plan: ShotPlan, out: Path) -> Scores:
    return deliver(plan, out)


@pytest.fixture(scope="module")
def delivered(scores: Scores, out: Path) -> Path:
    assert scores.promises
    return out


def _lines(path: Path) -> list[Any]:
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def test_every_fixed_file_is_in_the_folder(delivered: Path) -> None:
    assert set(FIXED_FILES) <= {path.name for path in delivered.iterdir()}


@pytest.mark.parametrize(
    "promise",
    [
        "vehicle error",
        "missing pieces",
        "leak",
        "float",
        "clash",
        "pop",
        "budget",
        "landing",
    ],
)
def test_a_hard_promise_is_kept(scores: Scores, promise: str) -> None:
    found = next(p for p in scores.promises if p.name == promise)
    assert found.kept, found.broken[:3]


def test_the_figure_is_covered(scores: Scores) -> None:
    layout = {score.name: score.value for score in scores.layout}
    assert layout["coverage"] >= 0.75
    assert layout["own-region coverage"] >= 0.65


def test_the_frames_file_has_its_agreed_keys(delivered: Path) -> None:
    header, *frames = _lines(delivered / "frames.ndjson")
    assert list(header) == HEADER
    assert (header["format"], header["version"]) == ("panelbeater-frames", 1)
    assert header["frames"] == len(frames) == N_FRAMES
    assert [list(region) for region in header["regions"]] == [
        ["id", "controller", "wkt"]
    ] * 15
    assert {r["controller"] for r in header["regions"]} == set(CONTROLLERS)
    assert all(
        set(p) == {"id", "kind", "signature", "mirror", "wkt"} for p in header["pieces"]
    )
    for k, frame in enumerate(frames):
        assert list(frame) == ["frame", "master", "bones", "pieces"]
        assert frame["frame"] == k
        assert [bone["id"] for bone in frame["bones"]] == list(BONE_IDS)
        for piece in frame["pieces"]:
            keys = {"id", "bone", "region", "depth", "scale", "visible", "wkt"}
            assert set(piece) == keys
    assert (frames[0]["master"], frames[-1]["master"]) == (0, 1)


def test_the_first_frame_is_the_drawn_vehicle_and_regions_tile_the_figure(
    delivered: Path,
) -> None:
    header, first, *_ = _lines(delivered / "frames.ndjson")
    drawn = {p["id"]: shapely.from_wkt(p["wkt"]) for p in header["pieces"]}
    for piece in first["pieces"]:
        was, now = drawn[piece["id"]], shapely.from_wkt(piece["wkt"])
        assert now.symmetric_difference(was).area <= 1e-6 * was.area
    figure = shapely.from_wkt(header["figure"])
    regions = [shapely.from_wkt(region["wkt"]) for region in header["regions"]]
    assert sum(region.area for region in regions) == pytest.approx(figure.area, rel=1e-6)
    assert shapely.union_all(regions).symmetric_difference(figure).area < 1e-6 * figure.area


def test_nothing_floats_by_a_walk_from_touch_to_touch(delivered: Path) -> None:
    header, *frames = _lines(delivered / "frames.ndjson")
    y0, y1 = shapely.bounds(shapely.from_wkt(header["figure"]))[[1, 3]]
    for frame in frames:
        body = [shapely.from_wkt(bone["wkt"]) for bone in frame["bones"]]
        shapes = {p["id"]: shapely.from_wkt(p["wkt"]) for p in frame["pieces"]}
        reach = 0.005 * (y1 - y0)
        held = {n for n, s in shapes.items() if min(s.distance(b) for b in body) <= reach}
        front = sorted(held)
        while front:
            here = shapes[front.pop()]
            near = [
                n
                for n in sorted(set(shapes) - held)
                if here.distance(shapes[n]) <= 1e-3 * (y1 - y0)
            ]
            held.update(near)
            front.extend(near)
        assert held == set(shapes), frame["frame"]


def test_the_plan_file_alone_plays_the_same_shot(plan: ShotPlan, delivered: Path) -> None:
    rig, assignment = plan_from_json(json.loads((delivered / "plan.json").read_text()))
    again = sample_rig(rig, np.arange(N_FRAMES, dtype=np.float64))
    assert np.array_equal(again.stage_from_piece, plan.sample.stage_from_piece)
    assert [c.region for c in assignment.covers] == [
        c.region for c in plan.assignment.covers
    ]


def test_pieces_change_places_in_the_stack_only_where_they_do_not_overlap(
    plan: ShotPlan,
) -> None:
    rig, sample = plan.rig, plan.sample
    n = len(rig.drawing.pieces)
    assert (np.sort(rig.depth, axis=1) == np.arange(n)).all()
    # In the first frame what is drawn over another piece lies over it.
    shown = [piece_outlines(rig, sample, frame) for frame in range(N_FRAMES)]
    for low, high in itertools.combinations(range(n), 2):
        above = rig.depth[:, high] > rig.depth[:, low]
        looked_at = {0, *np.flatnonzero(above[1:] != above[:-1]).tolist()}
        for frame in looked_at:
            meet = _overlap(shown[frame][low], shown[frame][high])
            if frame == 0 and meet:
                assert above[0]
            if frame + 1 < N_FRAMES and above[frame] != above[frame + 1]:
                assert not (
                    meet and _overlap(shown[frame + 1][low], shown[frame + 1][high])
                )


def _overlap(one: Shape, other: Shape) -> bool:
    """Whether two pieces share more than the judge overlooks."""
    return one.intersection(other).area > 1e-4 * min(one.area, other.area)


@cache
def _read_at(dx: int, dy: int) -> Drawing:
    """The tractor read from a page that lies dx, dy elsewhere."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "tractor.svg"
        path.write_text(tractor_svg(dx=dx, dy=dy), encoding="utf-8")
        return read_drawing(path)


@settings(max_examples=10)
@given(st.integers(-400, 400), st.integers(-400, 400))
def test_moving_the_page_keeps_the_pieces_and_their_stack(dx: int, dy: int) -> None:
    was, now = _read_at(0, 0), _read_at(dx, dy)
    assert [(p.id, p.kind, p.depth, p.mirror) for p in was.pieces] == [
        (p.id, p.kind, p.depth, p.mirror) for p in now.pieces
    ]
    for before, after in zip(was.pieces, now.pieces, strict=True):
        back = shapely.transform(after.outline, lambda xy: xy - [dx, dy])
        assert back.symmetric_difference(before.outline).area < 1e-6 * before.outline.area


def _command(*arguments: object, module: str = "panelbeater") -> Sequence[str]:
    return [sys.executable, "-m", module, *(str(a) for a in arguments)]


def test_another_process_gives_the_same_bytes_and_json_prints_json_only(
    drawings: Path, delivered: Path
) -> None:
    brief = drawings / "brief.toml"
    brief.write_text(
        'vehicle = "tractor.svg"\nfigure = "figure.svg"\ntitle = "tractor"\n'
        f"frames = {N_FRAMES}\nbudget = 9\n",
        encoding="utf-8",
    )
    again = drawings / "again"
    done = subprocess.run(
        _command("plan", brief, "-o", again, "--budget", BUDGET, "--json"),
        env={**os.environ, "PYTHONHASHSEED": "77"}, check=False, text=True,
        capture_output=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    printed = json.loads(done.stdout)
    assert printed == json.loads((again / "scores.json").read_text(encoding="utf-8"))
    for name in ("plan.json", "frames.ndjson"):
        assert (again / name).read_bytes() == (delivered / name).read_bytes(), name


@pytest.mark.usefixtures("delivered")
def test_checking_again_finds_the_same_promises(scores: Scores, out: Path) -> None:
    done = subprocess.run(
        _command("check", out, "--json"), check=True, capture_output=True, text=True
    )
    kept = {p["name"]: p["kept"] for p in json.loads(done.stdout)["promises"]}
    assert kept == {promise.name: promise.kept for promise in scores.promises}
    assert score_shot(read_frames(out / "frames.ndjson")).kept == scores.kept


def _until(process: subprocess.Popen[str], words: str) -> bool:
    """Read what the command says until it says these words."""
    assert process.stderr is not None
    return any(words in line for line in process.stderr)


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as on POSIX systems")
def test_one_ctrl_c_leaves_the_best_plan_so_far(drawings: Path) -> None:
    left = drawings / "stopped"
    with subprocess.Popen(
        _command("plan", drawings / "tractor.svg", drawings / "figure.svg", "-o", left,
                 "--frames", N_FRAMES, "--budget", 500, module="tests.shots.spoken"),
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    ) as process:  # fmt: skip
        assert _until(process, "choosing among")
        process.send_signal(signal.SIGINT)
        _, rest = process.communicate(timeout=120)
    assert process.returncode == 130
    assert "Ctrl-C again" in rest
    assert "Traceback" not in rest
    assert set(FIXED_FILES) <= {path.name for path in left.iterdir()}
    plan_from_json(json.loads((left / "plan.json").read_text(encoding="utf-8")))
    assert len(_lines(left / "frames.ndjson")) == N_FRAMES + 1


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as on POSIX systems")
def test_a_second_ctrl_c_abandons_the_shot(drawings: Path) -> None:
    left = drawings / "abandoned"
    with subprocess.Popen(
        _command("plan", drawings / "tractor.svg", drawings / "figure.svg", "-o", left,
                 module="tests.shots.spoken"),
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    ) as process:  # fmt: skip
        assert _until(process, "folding")
        process.send_signal(signal.SIGINT)
        assert _until(process, "Ctrl-C again")
        process.send_signal(signal.SIGINT)
        _, rest = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "abandoned" in rest
    assert "Traceback" not in rest
    assert not left.exists()
