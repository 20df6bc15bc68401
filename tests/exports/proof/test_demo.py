"""The bundled demo, planned small, looks the same in players that are not ours."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser

import panelbeater
from panelbeater.exports import export_lottie, export_smil_svg
from panelbeater.exports.compose import stage_window
from panelbeater.terms.rig import Rig, Sample
from tests.exports.proof.flat import VECTOR_BAR, Raster, flat_rig, halved, prove
from tests.exports.proof.players import rlottie_player, svg_player

pytestmark = [pytest.mark.slow, pytest.mark.shot, pytest.mark.solve]
FRAMES = (0, 8, 11, 14, 23)


@pytest.fixture(scope="module")
def demo() -> tuple[Rig, Sample]:
    shot = panelbeater.plan(*panelbeater.demo_drawings(), frames=24, budget=0.1)
    return flat_rig(shot.rig), shot.sample()


def test_the_demo_plays_as_lottie(demo: tuple[Rig, Sample], tmp_path: Path) -> None:
    pytest.importorskip("rlottie_python", reason="rlottie-python is not installed")
    export_lottie(*demo, tmp_path / "shot.json")
    window = stage_window(*demo)
    zoom = 1024 / max(window.width, window.height)
    size = (round(window.width * zoom), round(window.height * zoom))
    # Twice the size that the file states: any other would be fitted with a rest.
    raster = Raster(*demo, (2 * zoom, 2 * zoom), (2 * size[0], 2 * size[1]))
    shown = rlottie_player(tmp_path / "shot.json", raster)
    prove(
        lambda frame: halved(shown(frame)), raster.halved(), bar=VECTOR_BAR, frames=FRAMES
    )


@pytest.mark.browser
def test_the_demo_plays_as_svg(
    demo: tuple[Rig, Sample], browser: Browser, tmp_path: Path
) -> None:
    export_smil_svg(*demo, tmp_path / "shot.svg")
    raster = replace(Raster.wide(*demo, 1000), has_floor=True)
    page, shown = svg_player(browser, tmp_path / "shot.svg", raster)
    prove(shown, raster, bar=VECTOR_BAR, frames=FRAMES)
    page.close()
