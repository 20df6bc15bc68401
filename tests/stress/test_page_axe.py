"""Report and comparison under axe-core, as the preview is: contrast, names, structure."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from panelbeater.flashing import flash_of
from panelbeater.stress import stress_plan, write_comparison, write_report
from panelbeater.stress.compare import Comparison, Difference
from tests.exports.axe import WHERE_AXE_IS, axe_faults
from tests.exports.pages import settle
from tests.stress.bench import tractor_case

pytestmark = [*WHERE_AXE_IS, pytest.mark.slow]


LONG = ("harbour_crane_lorry_on_twos_with_a_crouch", "the_same_lorry_without_a_crouch")


@pytest.fixture(scope="module")
def page_file(
    tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest
) -> Path:
    out = tmp_path_factory.mktemp("report")
    if request.param == "compare":
        case = tractor_case()
        flash = flash_of(case.plan)
        row = Difference("step", "", (0.4, 0.6), (None, False))
        moved = (("plate_00", ("foot_r", "shank_r")),)
        cases, flashes = (case, case), (flash, flash)
        return write_comparison(Comparison(LONG, cases, flashes, (), (row,), moved), out)[0]
    # A part of what there is to try makes every part of the page.
    put = ("48 frames", "on threes", "redrawn 1% off")
    report = stress_plan(tractor_case(), workers=1, most_ideas=3, strains=put)
    return write_report(report, out)[0]


@pytest.mark.parametrize("page_file", ["report", "compare"], indirect=True)
@pytest.mark.parametrize("width", [390, 1440])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_in_a_page(
    browser: Browser, page_file: Path, width: int, scheme: str
) -> None:
    page = browser.new_page(
        viewport={"width": width, "height": 900},
        color_scheme="dark" if scheme == "dark" else "light",
        bypass_csp=True,  # the page runs no script at all: axe is put in
    )
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(page_file.as_uri())
    for fold in page.locator("details").all():
        fold.evaluate("node => { node.open = true; }")
    settle(page)
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert axe_faults(page, passes=10) == []
    page.close()
