"""axe-core looks at an open page: contrast, names, roles, keyboard, target size.

The checker is not ours: axe-core of npm, exact version, put into the ignored folder
`node_modules/` by `npm install --no-save axe-core@4.10.3` at the top of the repository.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.exports.pages import IN_A_BROWSER

VERSION = "4.10.3"
PACKAGE = Path(__file__).parents[2] / "node_modules" / "axe-core"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def _is_installed() -> bool:
    """True where npm has put the very version asked for."""
    about = PACKAGE / "package.json"
    return about.is_file() and json.loads(about.read_text())["version"] == VERSION


WHERE_AXE_IS = [
    *IN_A_BROWSER,
    pytest.mark.skipif(
        not _is_installed(),
        reason=f"axe-core is not here: npm install --no-save axe-core@{VERSION}",
    ),
]


def axe_faults(page: Page, *, passes: int) -> list[tuple[str, str, str]]:
    """Rule, element and remedy of everything it objects to; it must see enough to judge.

    The page has to be opened with `bypass_csp`: it runs no script but its own.
    """
    page.add_script_tag(path=PACKAGE / "axe.min.js")
    found = page.evaluate("tags => axe.run({runOnly: tags})", TAGS)
    assert len(found["passes"]) > passes
    return [
        (fault["id"], node["html"][:120], node["failureSummary"])
        for fault in found["violations"]
        for node in fault["nodes"]
    ]
