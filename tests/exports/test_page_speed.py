"""What a refresh costs the page's script grows with the pieces, and no faster.

Shares of times only: absolute figures are those of `benchmarks/page_speed.py`.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

from panelbeater.exports import export_page
from tests.exports.crowds import crowd
from tests.exports.pages import IN_A_BROWSER, STOPWATCH, answers, settle

pytestmark = IN_A_BROWSER
FRAMES = range(4, 68, 2)


def opened(browser: Browser, folder: Path, n_pieces: int) -> Page:
    rig, sample, covers = crowd(n_pieces, 64)
    export_page(rig, sample, folder / "page.html", scores={}, covers=covers)
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.add_init_script(STOPWATCH)
    page.goto((folder / "page.html").as_uri())
    settle(page)
    return page


def cost(page: Page) -> float:
    """Script time of a refresh in its quickest quarter, where nothing else cut in."""
    times = answers(page, FRAMES)
    return float(np.percentile(times, 25))


@pytest.fixture(scope="module")
def fifty(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> float:
    page = opened(browser, tmp_path_factory.mktemp("fifty"), 50)
    found = cost(page)
    page.close()
    return found


def test_four_times_the_pieces_cost_about_four_times_the_script(
    browser: Browser, tmp_path: Path, fifty: float
) -> None:
    page = opened(browser, tmp_path, 200)
    assert cost(page) < 8 * fifty  # each piece asking each other would be sixteen times
    page.close()


def test_six_onion_skins_cost_no_more_than_seven_stages(
    browser: Browser, tmp_path: Path, fifty: float
) -> None:
    page = opened(browser, tmp_path, 50)
    page.select_option("#skins-before", "3")
    page.select_option("#skins-after", "3")
    assert cost(page) < 14 * fifty
    page.close()
