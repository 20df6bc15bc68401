"""How like our own raster every player shows a finished plan: the long outside proof.

python -m benchmarks.prove_exports OUT [OUT ...], each a folder with a plan.json, from the
top of the repository. Prints a row a player: the least and the mean likeness over nine
frames, every piece in a flat colour of its own. Browser, npm packages and Python packages
are those of the tests in tests/exports/proof.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
from playwright.sync_api import Browser, sync_playwright

from panelbeater.exports import (
    export_apng,
    export_gif,
    export_gltf,
    export_layers,
    export_lottie,
    export_png_sequence,
    export_rig_svg,
    export_smil_svg,
    export_video,
)
from panelbeater.exports.compose import stage_window
from panelbeater.reopen import open_plan
from panelbeater.terms.rig import Rig, Sample
from tests.exports.proof.flat import Picture, Raster, flat_rig, halved, likeness
from tests.exports.proof.players import (
    decoded,
    gltf_player,
    layers_player,
    lottie_web_player,
    near_enough,
    rlottie_player,
    svg_player,
    video_player,
)

WIDTH = 1000
Player = Callable[[int], Picture]


def players(
    rig: Rig, sample: Sample, folder: Path, browser: Browser
) -> Iterator[tuple[str, Player, Raster]]:
    """Every player with the raster that its pictures are held against."""
    whole = replace(Raster.wide(rig, sample, WIDTH), has_floor=True)
    for name, export in (("css", export_rig_svg), ("smil", export_smil_svg)):
        export(rig, sample, folder / f"{name}.svg")
        yield f"svg {name}", svg_player(browser, folder / f"{name}.svg", whole)[1], whole
    export_lottie(rig, sample, folder / "shot.json")
    window = stage_window(rig, sample)
    zoom = 1024 / max(window.width, window.height)
    size = (round(window.width * zoom), round(window.height * zoom))
    lottie = Raster(rig, sample, (zoom, zoom), size)
    for renderer in ("svg", "canvas"):
        shown = lottie_web_player(browser, folder / "shot.json", lottie, renderer)[1]
        yield f"lottie-web {renderer}", _halving(shown, lottie), lottie.halved()
    shown = rlottie_player(folder / "shot.json", lottie)
    yield "rlottie", _halving(shown, lottie), lottie.halved()
    export_gltf(rig, sample, folder / "shot.glb")
    bare = replace(whole, has_floor=False, has_body_edge=False)
    yield (
        "three",
        gltf_player(browser, folder / "shot.glb", bare, rig.figure.height)[1],
        bare,
    )
    export_apng(rig, sample, folder / "shot.apng", width_px=WIDTH)
    filled = Raster.filling(rig, sample, WIDTH)
    yield "apng", video_player(folder / "shot.apng", rig.shot.fps), filled
    export_gif(rig, sample, folder / "shot.gif", width_px=WIDTH)
    floored = replace(filled, has_floor=True)
    yield "gif", video_player(folder / "shot.gif", rig.shot.fps), floored
    export_png_sequence(rig, sample, folder / "frames", width_px=WIDTH)
    yield "png sequence", _picture_of(folder / "frames"), filled
    yield (
        "layers",
        _layers_in(browser, rig, sample, folder),
        replace(whole, has_floor=False),
    )
    large = replace(Raster.filling(rig, sample, 2 * WIDTH), has_floor=True)
    for ending in ("mp4", "webm"):
        export_video(rig, sample, folder / f"shot.{ending}", width_px=2 * WIDTH)
        decoder = video_player(folder / f"shot.{ending}", rig.shot.fps)
        yield ending, _halving(decoder, large), large.halved()


def _picture_of(folder: Path) -> Player:
    return lambda frame: decoded(folder / f"frame-{frame + 1:04d}.png")[0][1]


def _layers_in(browser: Browser, rig: Rig, sample: Sample, folder: Path) -> Player:
    """The layered drawing of any frame, without the guides that lie over the artwork."""

    def shown(frame: int) -> Picture:
        export_layers(rig, sample, folder / "layers.svg", frame=frame)
        whole = Raster.wide(rig, sample, WIDTH)
        return layers_player(browser, folder / "layers.svg", whole)

    return shown


def _halving(decoder: Player, large: Raster) -> Player:
    return lambda frame: halved(near_enough(decoder(frame), large.size))


def main() -> None:
    """A table a plan."""
    with sync_playwright() as play, tempfile.TemporaryDirectory() as folder:
        browser = play.chromium.launch(
            executable_path=shutil.which("chromium"),
            args=["--no-sandbox", "--enable-unsafe-swiftshader", "--use-angle=swiftshader"],
        )
        for out in sys.argv[1:]:
            plan = open_plan(Path(out))
            rig, last = flat_rig(plan.rig), plan.rig.shot.n_frames - 1
            frames = [round(share * last) for share in np.linspace(0, 1, 9)]
            print(f"{plan.rig.shot.title}, {len(rig.drawing.pieces)} pieces")
            for name, shown, raster in players(rig, plan.sample, Path(folder), browser):
                likes = [
                    likeness(shown(f), raster.picture(f), raster.palette) for f in frames
                ]
                print(f"  {name:18} least {min(likes):.4f}  mean {np.mean(likes):.4f}")
        browser.close()


if __name__ == "__main__":
    main()
