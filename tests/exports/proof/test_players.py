"""Every export shows the same shot in players that are not ours, and wrong ones fail."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser

from panelbeater.exports import (
    export_apng,
    export_contact_pdf,
    export_gif,
    export_gltf,
    export_lottie,
    export_png_sequence,
    export_rig_svg,
    export_smil_svg,
    export_video,
)
from panelbeater.exports.compose import stage_window
from panelbeater.exports.contact_pdf import key_boxes
from panelbeater.exports.keys import telling_frames
from panelbeater.terms.rig import Rig, Sample
from tests.exports.proof.flat import (
    CANVAS_BAR,
    VECTOR_BAR,
    Picture,
    Raster,
    flat_rig,
    halved,
    likeness,
    prove,
)
from tests.exports.proof.players import (
    decoded,
    gltf_player,
    lottie_web_player,
    near_enough,
    needs_node_module,
    needs_program,
    printed,
    rlottie_player,
    svg_player,
    video_player,
)
from tests.exports.small_rig import small_rig

FLIP = 12
FRAMES = (0, 6, 11, FLIP, 16, 23)
WIDTH = 640
VIDEO_WIDTH = 960
pytestmark = pytest.mark.slow


def flat_shot() -> tuple[Rig, Sample]:
    """The trolley; a piece bends, and at frame 12 the draw order changes, a piece is
    redrawn and another vanishes.
    """
    rig, sample = small_rig(order_changes=True, pieces_change=True)
    return flat_rig(rig), sample


RIG, SAMPLE = flat_shot()


def lottie_raster() -> Raster:
    """Our raster in the pixels of a Lottie file."""
    window = stage_window(RIG, SAMPLE)
    zoom = 1024 / max(window.width, window.height)
    size = (round(window.width * zoom), round(window.height * zoom))
    return Raster(RIG, SAMPLE, (zoom, zoom), size)


@pytest.mark.browser
@pytest.mark.parametrize("export", [export_rig_svg, export_smil_svg])
def test_a_browser_plays_the_animated_drawing(
    browser: Browser, tmp_path: Path, export: Callable[..., None]
) -> None:
    export(RIG, SAMPLE, tmp_path / "shot.svg")
    raster = replace(Raster.wide(RIG, SAMPLE, WIDTH), has_floor=True)
    page, shown = svg_player(browser, tmp_path / "shot.svg", raster)
    prove(shown, raster, bar=VECTOR_BAR, frames=FRAMES, flip=FLIP)
    page.close()


@pytest.mark.browser
@needs_node_module("lottie-web")
@pytest.mark.parametrize(("renderer", "bar"), [("svg", VECTOR_BAR), ("canvas", CANVAS_BAR)])
def test_lottie_web_plays_the_lottie_file(
    browser: Browser, tmp_path: Path, renderer: str, bar: float
) -> None:
    export_lottie(RIG, SAMPLE, tmp_path / "shot.json")
    raster = lottie_raster()
    page, shown = lottie_web_player(browser, tmp_path / "shot.json", raster, renderer)
    prove(
        lambda frame: halved(shown(frame)), raster.halved(),
        bar=bar, frames=FRAMES, flip=FLIP,
    )  # fmt: skip
    page.close()


def test_rlottie_plays_the_lottie_file(tmp_path: Path) -> None:
    pytest.importorskip("rlottie_python", reason="rlottie-python is not installed")
    export_lottie(RIG, SAMPLE, tmp_path / "shot.json")
    raster = lottie_raster()
    shown = rlottie_player(tmp_path / "shot.json", raster)
    prove(
        lambda frame: halved(shown(frame)), raster.halved(),
        bar=VECTOR_BAR, frames=FRAMES, flip=FLIP,
    )  # fmt: skip


@pytest.mark.browser
@needs_node_module("three")
def test_a_scene_player_plays_the_gltf_file(browser: Browser, tmp_path: Path) -> None:
    export_gltf(RIG, SAMPLE, tmp_path / "shot.glb")
    raster = replace(Raster.wide(RIG, SAMPLE, WIDTH), has_body_edge=False)
    page, shown = gltf_player(browser, tmp_path / "shot.glb", raster, RIG.figure.height)
    prove(shown, raster, bar=CANVAS_BAR, frames=FRAMES, flip=FLIP)
    page.close()


@pytest.mark.parametrize(
    ("name", "export", "has_floor"),
    [("shot.apng", export_apng, False), ("shot.gif", export_gif, True)],
)
def test_a_decoder_reads_the_moving_picture(
    tmp_path: Path, name: str, export: Callable[..., None], *, has_floor: bool
) -> None:
    pytest.importorskip(
        "av", reason="av is not installed: pip install 'panelbeater[video]'"
    )
    export(RIG, SAMPLE, tmp_path / name, width_px=WIDTH)
    raster = replace(Raster.filling(RIG, SAMPLE, WIDTH), has_floor=has_floor)
    shown = video_player(tmp_path / name, RIG.shot.fps)
    prove(shown, raster, bar=VECTOR_BAR, frames=FRAMES, flip=FLIP)


@pytest.mark.parametrize("name", ["shot.mp4", "shot.webm"])
def test_a_decoder_reads_the_video(tmp_path: Path, name: str) -> None:
    """Compared at half size: video keeps one colour for four pixels."""
    pytest.importorskip(
        "av", reason="av is not installed: pip install 'panelbeater[video]'"
    )
    export_video(RIG, SAMPLE, tmp_path / name, width_px=VIDEO_WIDTH)
    raster = replace(Raster.filling(RIG, SAMPLE, VIDEO_WIDTH), has_floor=True)
    player = video_player(tmp_path / name, RIG.shot.fps)
    prove(
        lambda frame: halved(near_enough(player(frame), raster.size)), raster.halved(),
        bar=VECTOR_BAR, frames=FRAMES, flip=FLIP,
    )  # fmt: skip


def test_a_decoder_reads_the_picture_sequence(tmp_path: Path) -> None:
    pytest.importorskip(
        "av", reason="av is not installed: pip install 'panelbeater[video]'"
    )
    export_png_sequence(RIG, SAMPLE, tmp_path, width_px=WIDTH)
    assert len(list(tmp_path.iterdir())) == RIG.shot.n_frames
    prove(
        lambda frame: decoded(tmp_path / f"frame-{frame + 1:04d}.png")[0][1],
        Raster.filling(RIG, SAMPLE, WIDTH), bar=VECTOR_BAR, frames=FRAMES, flip=FLIP,
    )  # fmt: skip


@needs_program("pdftoppm", "poppler-utils")
def test_a_printer_shows_the_contact_sheet(tmp_path: Path) -> None:
    pytest.importorskip("fpdf", reason="fpdf2 is not installed: panelbeater[print]")
    export_contact_pdf(RIG, SAMPLE, tmp_path / "sheet.pdf", captions={"coverage": "0.61"})
    page = printed(tmp_path / "sheet.pdf", tmp_path, 300)[0]
    frames = telling_frames(RIG, SAMPLE, 9)
    boxes = key_boxes(stage_window(RIG, SAMPLE), 9)
    raster = replace(
        Raster.filling(RIG, SAMPLE, round(boxes[0][2] / 25.4 * 300)), has_floor=True
    )

    def shown(frame: int) -> Picture:
        x, y = (round(value / 25.4 * 300) for value in boxes[frames.index(frame)][:2])
        return page[y : y + raster.size[1], x : x + raster.size[0]]

    flip = next(frame for frame in frames if frame >= FLIP)
    prove(shown, raster, bar=0.96, frames=frames, flip=flip, before=0)


@pytest.mark.parametrize(
    "fault", ["order", "missing", "late", "pixel", "unbent", "late swap", "still there"]
)
def test_a_faulty_file_does_not_pass(tmp_path: Path, fault: str) -> None:
    """The faults are in the file here, not in what it is compared with."""
    pytest.importorskip("rlottie_python", reason="rlottie-python is not installed")
    raster = lottie_raster()
    rig = RIG
    if fault == "order":
        rig = flat_rig(small_rig(pieces_change=True)[0])
    if fault == "missing":
        rig = flat_rig(small_rig(order_changes=True, pieces_change=True)[0], without="lamp")
    placed, bones = SAMPLE.stage_from_piece.copy(), SAMPLE.stage_from_bone.copy()
    scales = SAMPLE.bone_scales
    if fault == "late":
        placed, bones, scales = (
            np.concatenate([values[:1], values[:-1]]) for values in (placed, bones, scales)
        )
    if fault == "pixel":
        placed[..., 0, 2] += 2 / raster.zoom[0]  # one, once halved
        bones[..., 0, 2] += 2 / raster.zoom[0]
    faulty = replace(
        SAMPLE, stage_from_bone=bones, bone_scales=scales, stage_from_piece=placed
    )
    if fault == "unbent":
        faulty = replace(faulty, bent=np.zeros_like(SAMPLE.bent))
    if fault == "late swap":
        faulty = replace(faulty, redrawn=np.roll(SAMPLE.redrawn, 1, axis=0))
    if fault == "still there":
        faulty = replace(faulty, visible=np.ones_like(SAMPLE.visible))
    export_lottie(rig, faulty, tmp_path / "shot.json")
    picture = halved(rlottie_player(tmp_path / "shot.json", raster)(FLIP))
    wanted = raster.halved().picture(FLIP)
    assert likeness(picture, wanted, raster.palette) < VECTOR_BAR
