"""The trolley's preview page, opened afresh for each test."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from panelbeater.exports import export_page
from tests.exports.pages import SCORES, opened_page
from tests.exports.small_rig import small_covers, small_rig


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("page") / "preview.html"
    rig, sample = small_rig(order_changes=True)
    export_page(rig, sample, path, scores=SCORES, covers=small_covers())
    return path


@pytest.fixture
def page(browser: Browser, page_file: Path) -> Iterator[Page]:
    with opened_page(browser, page_file) as page:
        yield page
