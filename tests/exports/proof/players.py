"""Players and checkers we did not write, each giving back the picture of one frame."""

from __future__ import annotations

import io
import json
import mimetypes
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, Route

from panelbeater.exports.compose import PAPER
from tests.exports.proof.flat import Picture, Raster, halved, on_paper

TOP = Path(__file__).parents[3]
NODE_MODULES = TOP / "node_modules"
JUST_AFTER_S = 1e-5
"""A key at this very frame has been reached, whatever the last bit of its time is."""


def needs_program(name: str, package: str) -> pytest.MarkDecorator:
    """Skip where a program is not installed."""
    reason = f"{name} is not installed on this machine (Debian: apt-get install {package})"
    return pytest.mark.skipif(shutil.which(name) is None, reason=reason)


def needs_node_module(name: str) -> pytest.MarkDecorator:
    """Skip where an npm package has not been put into the ignored folder."""
    return pytest.mark.skipif(
        not (NODE_MODULES / name).is_dir(),
        reason=f"{name} is not in node_modules/ (see .ci/run for the exact version)",
    )


def shot_of(page: Page, size: tuple[int, int]) -> Picture:
    """What the browser shows in its top left corner."""
    png = page.screenshot(clip={"x": 0, "y": 0, "width": size[0], "height": size[1]})
    return on_paper(Image.open(io.BytesIO(png)))


def svg_player(
    browser: Browser, path: Path, raster: Raster
) -> tuple[Page, Callable[[int], Picture]]:
    """An animated SVG in the browser, stopped at any frame."""
    # A row to spare, so that the width alone decides the size.
    width, height = raster.size[0], raster.size[1] + 1
    page = _page(browser, (width, height), density=2)  # it rounds places to whole pixels
    page.goto(path.as_uri())
    page.evaluate(
        """([w, h]) => {
            const svg = document.documentElement;
            svg.setAttribute('width', w); svg.setAttribute('height', h);
            svg.setAttribute('preserveAspectRatio', 'xMinYMin');
            svg.pauseAnimations();
            document.getAnimations().forEach(one => one.pause());
        }""",
        [width, height],
    )

    def shown(frame: int) -> Picture:
        page.evaluate(
            """t => {
                document.documentElement.setCurrentTime(t);
                document.getAnimations().forEach(one => { one.currentTime = 1000 * t; });
            }""",
            frame / raster.rig.shot.fps + JUST_AFTER_S,
        )
        return halved(shot_of(page, raster.size))

    return page, shown


def lottie_web_player(
    browser: Browser, path: Path, raster: Raster, renderer: str
) -> tuple[Page, Callable[[int], Picture]]:
    """lottie-web in the browser, painting by `renderer` ("svg" or "canvas")."""
    page = _page(browser, raster.size)
    page.set_content(
        f'<body style="margin:0;background:{PAPER}"><div id="stage" style="'
        f'width:{raster.size[0]}px;height:{raster.size[1]}px"></div></body>'
    )
    page.add_script_tag(
        path=NODE_MODULES / "lottie-web" / "build" / "player" / "lottie.min.js"
    )
    page.evaluate(
        """([data, renderer]) => new Promise((done, failed) => {
            window.player = lottie.loadAnimation({
                container: document.getElementById('stage'), renderer, loop: false,
                autoplay: false, animationData: data,
            });
            player.addEventListener('DOMLoaded', done);
            player.addEventListener('data_failed', failed);
        })""",
        [json.loads(path.read_text()), renderer],
    )

    def shown(frame: int) -> Picture:
        page.evaluate("frame => player.goToAndStop(frame, true)", frame)
        return shot_of(page, raster.size)

    return page, shown


def rlottie_player(path: Path, raster: Raster) -> Callable[[int], Picture]:
    """rlottie, at the size the file states."""
    from rlottie_python.rlottie_wrapper import LottieAnimation

    player = LottieAnimation.from_file(str(path))

    def shown(frame: int) -> Picture:
        width, height = raster.size
        still = player.render_pillow_frame(frame_num=frame, width=width, height=height)
        return on_paper(still)

    return shown


GLTF_PAGE = """<!doctype html><body style="margin:0"><script type="importmap">
{"imports": {"three": "/three/build/three.module.js"}}</script>
<script type="module">
import * as THREE from 'three';
import { GLTFLoader } from '/three/examples/jsm/loaders/GLTFLoader.js';
window.begin = async ([w, h, left, right, top, bottom, paper]) => {
  const renderer = new THREE.WebGLRenderer(
    { antialias: true, preserveDrawingBuffer: true });
  renderer.setSize(w, h);
  renderer.setClearColor(paper);
  document.body.append(renderer.domElement);
  const file = await new GLTFLoader().loadAsync('/shot.glb');
  const scene = new THREE.Scene();
  scene.add(file.scene);
  const camera = new THREE.OrthographicCamera(left, right, top, bottom, 0.1, 20);
  camera.position.z = 10;
  const mixer = new THREE.AnimationMixer(file.scene);
  for (const clip of file.animations) {
    const action = mixer.clipAction(clip);
    action.setLoop(THREE.LoopOnce);
    action.clampWhenFinished = true;
    action.play();
  }
  window.show = seconds => { mixer.setTime(seconds); renderer.render(scene, camera); };
};
</script></body>"""


def gltf_player(
    browser: Browser, path: Path, raster: Raster, figure_height: float
) -> tuple[Page, Callable[[int], Picture]]:
    """three.js in the browser, looking straight at the stage."""
    page = _page(browser, raster.size)

    def answer(route: Route) -> None:
        asked = route.request.url.removeprefix("http://player.test/")
        if asked == "":
            route.fulfill(body=GLTF_PAGE, content_type="text/html")
        elif asked == "shot.glb":
            route.fulfill(body=path.read_bytes(), content_type="model/gltf-binary")
        else:
            file = NODE_MODULES / asked
            kind = mimetypes.guess_type(file.name)[0] or "text/plain"
            route.fulfill(body=file.read_bytes(), content_type=kind)

    page.route("http://player.test/**", answer)
    page.goto("http://player.test/")
    page.wait_for_function("() => window.begin")
    window, scale = raster.window, 2.0 / figure_height
    middle = window.x + window.width / 2
    left, top = scale * (window.x - middle), scale * (raster.rig.ground - window.y)
    width, height = (scale * side / raster.zoom[0] for side in raster.size)
    page.evaluate(
        "values => begin(values)",
        [*raster.size, left, left + width, top, top - height, PAPER],
    )

    def shown(frame: int) -> Picture:
        page.evaluate("t => show(t)", frame / raster.rig.shot.fps + JUST_AFTER_S)
        return shot_of(page, raster.size)

    return page, shown


def decoded(path: Path) -> list[tuple[float, Picture]]:
    """Time in seconds and picture of every frame of a video, GIF or PNG, by FFmpeg."""
    import av

    with av.open(str(path)) as container:
        return [
            (
                float(frame.time or 0),
                on_paper(Image.fromarray(frame.to_ndarray(format="rgba"))),
            )
            for frame in container.decode(video=0)
        ]


def video_player(path: Path, fps: int) -> Callable[[int], Picture]:
    """The picture that stands at the time of each frame."""
    frames = decoded(path)

    def shown(frame: int) -> Picture:
        # Half a frame in, since some formats round their times.
        return [picture for at, picture in frames if at <= (frame + 0.5) / fps][-1]

    return shown


def layers_player(browser: Browser, path: Path, raster: Raster) -> Picture:
    """A layered drawing in the browser, without the guides that lie over the artwork."""
    page, shown = svg_player(browser, path, raster)
    page.evaluate(
        "paper => { for (const guide of document.querySelectorAll('#bones, #pivots'))"
        "guide.remove(); document.documentElement.style.background = paper; }",
        PAPER,
    )
    picture = shown(0)
    page.close()
    return picture


def printed(path: Path, folder: Path, dpi: int) -> list[Picture]:
    """Pages of a PDF as pixels, by poppler."""
    subprocess.run(
        ["pdftoppm", "-r", str(dpi), "-png", str(path), str(folder / "page")], check=True
    )
    return [on_paper(Image.open(page)) for page in sorted(folder.glob("page-*.png"))]


def gltf_report(path: Path) -> dict[str, Any]:
    """What the Khronos validator says of a glTF file."""
    script = (
        "const v = require('gltf-validator'), fs = require('fs');"
        "v.validateBytes(new Uint8Array(fs.readFileSync(process.argv[1])))"
        ".then(r => console.log(JSON.stringify(r)))"
    )
    run = subprocess.run(
        ["node", "-e", script, str(path)], check=True, capture_output=True, cwd=TOP
    )
    report: dict[str, Any] = json.loads(run.stdout)
    return report


def _page(browser: Browser, size: tuple[int, int], density: int = 1) -> Page:
    page: Page = browser.new_page(
        viewport={"width": size[0], "height": size[1]}, device_scale_factor=density
    )
    return page


def near_enough(shown: Picture, size: tuple[int, int]) -> Picture:
    """Cut the even sides of a video back to the picture."""
    return np.asarray(shown[: size[1], : size[0]])
