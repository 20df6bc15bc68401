"""The page keeps up with the hand that scrubs it; script time in a real browser."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from playwright.sync_api import Browser

from panelbeater.exports import export_page
from tests.exports.crowds import crowd
from tests.exports.pages import IN_A_BROWSER, settle

pytestmark = IN_A_BROWSER
# Times every answer to a refresh before the page's own script sees the clock.
STOPWATCH = """
window.answers = [];
const refresh = window.requestAnimationFrame.bind(window);
window.requestAnimationFrame = (draw) => refresh((now) => {
  const start = performance.now();
  draw(now);
  window.answers.push(performance.now() - start);
});
"""


def page_of(folder: Path, n_pieces: int, n_vertices: int) -> str:
    rig, sample, covers = crowd(n_pieces, n_vertices)
    export_page(rig, sample, folder / "page.html", scores={}, covers=covers)
    return (folder / "page.html").as_uri()


def test_a_scrub_of_two_hundred_pieces_is_answered_within_a_refresh(
    browser: Browser, tmp_path: Path
) -> None:
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.add_init_script(STOPWATCH)
    page.goto(page_of(tmp_path, 200, 64))
    settle(page)
    page.evaluate("answers.length = 0")
    for frame in range(2, 70):
        page.locator("#scrub").fill(str(frame))
        settle(page)
    # Waiting for the drawing asks for refreshes of its own, which take no time.
    times = np.array([t for t in page.evaluate("answers") if t > 0.05])
    assert len(times) > 40
    assert np.percentile(times, 90) <= 16  # 5 ms when it was written, on two busy cores
    page.close()


def test_playing_sixty_pieces_leaves_most_of_a_refresh_free(
    browser: Browser, tmp_path: Path
) -> None:
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.add_init_script(STOPWATCH)
    page.goto(page_of(tmp_path, 60, 32))
    page.select_option("#held", "0")
    page.select_option("#ending", "again")
    page.evaluate("answers.length = 0")
    page.locator("#play").click()
    page.wait_for_timeout(1500)
    times = np.array(page.evaluate("answers"))
    assert len(times) > 20
    assert np.percentile(times, 90) <= 8
    page.close()
