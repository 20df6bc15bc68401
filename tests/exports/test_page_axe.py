"""WCAG 2.2 A and AA as axe-core sees it: contrast, names, roles, keyboard, target size."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.exports.axe import WHERE_AXE_IS, axe_faults
from tests.exports.pages import settle

pytestmark = WHERE_AXE_IS


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
    assert axe_faults(page, passes=15) == []
    page.close()
