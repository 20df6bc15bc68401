"""How much of a screen refresh the preview page's own script takes.

python -m benchmarks.page_speed [PAGE.html ...], from the top of the repository. Rows for
crowds of 60 and 200 pieces of 64 corners, and for each page named: the median and the
95th percentile of the time the script spends answering one refresh, milliseconds by the
browser's own clock. Other programs on the machine lengthen it, the 95th percentile most.
At 60 refreshes a second there are 16.7 ms for script and painting.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from playwright.sync_api import Page

from panelbeater.exports import export_page
from tests.exports.crowds import crowd
from tests.exports.pages import STOPWATCH, answers, opened_browser, settle

WAYS = {
    "scrubbing": "",
    "with 3 onion skins before and after": "skins",
    "with all arcs": "arcs",
    "in depth view": "depth",
}


def pages(folder: Path) -> Iterator[tuple[str, Path]]:
    """Pages to measure, each by a name."""
    for n_pieces in (60, 200):
        rig, sample, covers = crowd(n_pieces, 64)
        path = folder / f"{n_pieces}.html"
        export_page(rig, sample, path, scores={}, covers=covers)
        yield f"{n_pieces} pieces of 64 corners", path
    for name in sys.argv[1:]:
        yield name, Path(name).resolve()


def show(page: Page, way: str) -> None:
    """Ask for what a way of looking needs."""
    if way == "skins":
        page.select_option("#skins-before", "3")
        page.select_option("#skins-after", "3")
    elif way == "arcs":
        page.select_option("#arcs", "all")
    elif way == "depth":
        page.locator("#depth-view").check()
    settle(page)


def main() -> None:
    """A table a page."""
    with opened_browser() as browser, tempfile.TemporaryDirectory() as folder:
        for name, path in pages(Path(folder)):
            print(f"{name}")
            for words, way in WAYS.items():
                page = browser.new_page(viewport={"width": 1280, "height": 900})
                page.add_init_script(STOPWATCH)
                page.goto(path.as_uri())
                show(page, way)
                last = int(page.locator("#scrub").get_attribute("max") or 0)
                times = answers(page, range(last + 1))
                middle, high = np.percentile(times, [50, 95])
                print(f"  {words:38} median {middle:6.2f} ms   95 % {high:6.2f} ms")
                page.close()


if __name__ == "__main__":
    main()
