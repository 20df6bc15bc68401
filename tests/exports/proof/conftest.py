"""One browser for all proofs."""

from __future__ import annotations

import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if CHROMIUM is None:
        pytest.skip("chromium is not installed on this machine")
    with sync_playwright() as play:
        opened = play.chromium.launch(
            executable_path=CHROMIUM,
            # A software renderer draws the same everywhere.
            args=["--no-sandbox", "--enable-unsafe-swiftshader", "--use-angle=swiftshader"],
        )
        yield opened
        opened.close()
