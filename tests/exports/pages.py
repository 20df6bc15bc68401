"""Opens the preview page in a real browser, and reads what it shows."""

from __future__ import annotations

import contextlib
import re
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from panelbeater.terms.arrays import Floats

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
IN_A_BROWSER = [
    pytest.mark.browser,
    pytest.mark.skipif(
        CHROMIUM is None, reason="chromium is not installed on this machine"
    ),
]
SERIES = [0.0, 0.0, 0.5, *([2.0] * 10), *([0.5] * 11)]
SCORES: dict[str, Any] = {
    "promises": [
        {"name": "leak", "value": 0, "limit": 0.001, "kept": True, "broken": []},
        {
            "name": "float", "value": 2, "limit": 0, "kept": False,
            "broken": [
                {"frames": [11, 12], "pieces": ["bonnet", "bone head"],
                 "detail": "</script><b>"}
            ],
        },
    ],
    "layout": [{"name": "coverage", "value": 0.61, "unit": "", "on_target": False}],
    "motion": [
        {"name": "movers", "value": 2, "unit": "", "series": [1.0] * 24},
        {"name": "tracking load", "value": 2, "unit": "", "target": {"high": 1},
         "on_target": False, "series": SERIES},
    ],
}  # fmt: skip


@contextlib.contextmanager
def opened_browser() -> Iterator[Browser]:
    """Chromium without a window."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield browser
        browser.close()


@contextlib.contextmanager
def opened_page(
    browser: Browser, path: Path, *, width: int = 1280, height: int = 800, **how: Any
) -> Iterator[Page]:
    """The page, which must stay silent in the console and ask for no other file."""
    page = browser.new_page(viewport={"width": width, "height": height}, **how)
    faults: list[str] = []
    page.on("console", lambda message: faults.append(message.text))
    page.on("pageerror", lambda error: faults.append(str(error)))
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(path.as_uri())
    yield page
    page.close()
    assert faults == [], faults
    assert [url for url in asked if not url.startswith("blob:")] == [path.as_uri()]


def settle(page: Page) -> None:
    """Wait until the drawing asked for has been made."""
    page.evaluate(
        "() => new Promise(done => requestAnimationFrame("
        "() => requestAnimationFrame(done)))"
    )


STOPWATCH = """
window.answers = [];
const refresh = window.requestAnimationFrame.bind(window);
window.requestAnimationFrame = (draw) => refresh((now) => {
  const start = performance.now();
  draw(now);
  window.answers.push(performance.now() - start);
});
"""
"""Times every answer to a refresh before the page's own script sees the clock."""


def answers(page: Page, frames: Iterable[int]) -> Floats:
    """Milliseconds of script for each of these frames; the page runs the stopwatch."""
    times = []
    for frame in frames:
        page.evaluate("answers.length = 0")
        go_to(page, frame)
        times.append(max(page.evaluate("answers")))  # waiting asks for refreshes of its own
    return np.array(times)


def go_to(page: Page, frame: int) -> None:
    """Scrub to a frame, counted from 0."""
    page.locator("#scrub").fill(str(frame))
    settle(page)


def matrices(page: Page, selector: str, *, by_index: bool = False) -> Floats:
    """(n, 6), SVG matrix of each such element, as painted or in the order of the pieces."""
    texts = page.evaluate(
        "([selector, isSorted]) => [...document.querySelectorAll(selector)]"
        ".sort((a, b) => isSorted ? a.dataset.index - b.dataset.index : 0)"
        ".map(node => node.getAttribute('transform'))",
        [selector, by_index],
    )
    found = [[float(v) for v in re.findall(r"-?[\d.]+", text)] for text in texts]
    return np.array(found)


def piece_matrices(page: Page) -> Floats:
    """(n_pieces, 6), SVG matrix of each piece as the page has it."""
    return matrices(page, "#pieces > .piece", by_index=True)


def body_matrices(page: Page) -> Floats:
    """(n_bones, 6), SVG matrix of each bare bone as the page has it."""
    return matrices(page, "#body > path")


def six(transforms: Floats) -> Floats:
    """(..., 3, 3) in the order of SVG's matrix(); (..., 6)."""
    columns = np.swapaxes(transforms[..., :2, :], -1, -2)
    return columns.reshape(*transforms.shape[:-2], 6)


def placed(matrix: Floats, points: Floats) -> Floats:
    """(n, 2) points moved by one SVG matrix."""
    a, b, c, d, e, f = matrix
    out: Floats = points @ np.array([[a, b], [c, d]]) + np.array([e, f])
    return out


def apart(turns: Floats, others: Floats) -> float:
    """Largest difference of two sets of turns, whole turns left out; radians."""
    return float(np.abs((turns - others + np.pi) % (2 * np.pi) - np.pi).max())


def handle(page: Page, name: str) -> tuple[float, float]:
    """Middle of a handle on the screen, pixels."""
    box = page.locator(f".handle[data-name={name}] .grip").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page: Page, name: str, dx: float, dy: float) -> None:
    """Drag a handle by so many pixels."""
    x, y = handle(page, name)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + dx, y + dy, steps=4)
    page.mouse.up()
    settle(page)
