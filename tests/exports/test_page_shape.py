"""The page bends, redraws and hides pieces just where python does."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from playwright.sync_api import Browser, Page

from panelbeater.exports import export_page
from panelbeater.exports.compose import stage_window
from panelbeater.exports.looks import read_looks
from panelbeater.geometry.stage import shown_shapes
from panelbeater.terms.arrays import Floats
from tests.exports.pages import IN_A_BROWSER, go_to, opened_page
from tests.exports.small_rig import small_covers, small_rig

pytestmark = IN_A_BROWSER
RIG, SAMPLE = small_rig(pieces_change=True)
TUB, BONNET, BAR = 0, 2, 5
FRAMES = (0, 6, 9, 11, 12, 14, 23, 3)


def numbers(data: str) -> Floats:
    return np.array([float(word) for word in re.findall(r"-?\d+(?:\.\d+)?", data)])


def paths(page: Page, selector: str) -> list[Floats]:
    found = page.evaluate(
        "(s) => [...document.querySelectorAll(s)].map((n) => n.getAttribute('d'))", selector
    )
    return [numbers(data) for data in found]


def shown(page: Page, selector: str) -> list[bool]:
    return list(page.evaluate(
        "(s) => [...document.querySelectorAll(s)].map((n) => n.style.display !== 'none')",
        selector,
    ))  # fmt: skip


def test_every_change_shows_in_its_frame(browser: Browser, tmp_path: Path) -> None:
    export_page(RIG, SAMPLE, tmp_path / "page.html", scores={}, covers=small_covers())
    window = stage_window(RIG, SAMPLE)
    art = read_looks(RIG, window.decimals).first[TUB]
    with opened_page(browser, tmp_path / "page.html") as page:
        for frame in FRAMES:  # and back to one before the changes
            go_to(page, frame)
            text = art.at(float(SAMPLE.bent[frame, TUB]), window.decimals)
            wanted = [numbers(data) for data in re.findall(r' d="([^"]*)"', text)]
            for one, other in zip(paths(page, "#art-0 path"), wanted, strict=True):
                assert one == pytest.approx(other, abs=3 * 10.0**-window.decimals), frame
            assert shown(page, f"#art-{BONNET} > g") == [frame < 12, frame >= 12]
            assert shown(page, f'.piece[data-index="{BAR}"]') == [frame < 12]


def test_a_skin_shows_the_shape_of_its_own_frame(browser: Browser, tmp_path: Path) -> None:
    export_page(RIG, SAMPLE, tmp_path / "page.html", scores={}, covers=small_covers())
    with opened_page(browser, tmp_path / "page.html") as page:
        page.select_option("#skins-before", "1")
        go_to(page, 14)
        skins = paths(page, "#before path")  # of four frames before
        assert len(skins) == len(RIG.drawing.pieces)
        assert len(skins[BONNET]) == 8  # four corners: still the first drawing
        tub = skins[TUB].reshape(-1, 2)
        wanted = shown_shapes(RIG, SAMPLE, 10)[TUB]
        assert np.ptp(tub, axis=0) == pytest.approx(
            np.ptp(shapely.get_coordinates(wanted), axis=0), abs=0.01
        )
