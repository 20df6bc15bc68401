"""WCAG 2.2 A and AA as axe-core sees it: contrast, names, roles, keyboard, target size.

The checker is not ours: axe-core of npm, exact version, put into the ignored folder
`node_modules/` by `npm install --no-save axe-core@4.10.3` at the top of the repository.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from panelbeater.exports import export_page
from tests.exports.pages import IN_A_BROWSER, SCORES, opened_browser, settle
from tests.exports.small_rig import small_covers, small_rig

VERSION = "4.10.3"
PACKAGE = Path(__file__).parents[2] / "node_modules" / "axe-core"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def installed() -> bool:
    """True where npm has put the very version asked for."""
    about = PACKAGE / "package.json"
    return about.is_file() and json.loads(about.read_text())["version"] == VERSION


pytestmark = [
    *IN_A_BROWSER,
    pytest.mark.skipif(
        not installed(),
        reason=f"axe-core is not here: npm install --no-save axe-core@{VERSION}",
    ),
]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with opened_browser() as browser:
        yield browser


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    rig, sample = small_rig()
    path = tmp_path_factory.mktemp("page") / "preview.html"
    export_page(rig, sample, path, scores=SCORES, covers=small_covers())
    return path


@pytest.mark.parametrize("width", [390, 1440])
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("tab", ["pieces", "body", "poses", "checks"])
def test_axe_finds_nothing(
    browser: Browser, page_file: Path, width: int, scheme: str, tab: str
) -> None:
    page = browser.new_page(
        viewport={"width": width, "height": 900},
        color_scheme="dark" if scheme == "dark" else "light",
        bypass_csp=True,  # the page runs no script but its own: axe is put in
    )
    page.goto(page_file.as_uri())
    page.locator("#list .row").first.click()
    page.locator(f"#tab-{tab}").click()
    if tab == "poses":
        page.locator("#keep-pose").click()
    for fold in page.locator("details").all():
        fold.evaluate("node => { node.open = true; }")
    settle(page)
    page.add_script_tag(path=PACKAGE / "axe.min.js")
    found = page.evaluate("tags => axe.run({runOnly: tags})", TAGS)
    assert len(found["passes"]) > 15
    assert [
        (fault["id"], node["html"][:120], node["failureSummary"])
        for fault in found["violations"]
        for node in fault["nodes"]
    ] == []
    page.close()
