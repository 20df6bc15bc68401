"""Alternates side by side on the page: one master moves them all."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

from panelbeater.exports import Choice, Entry, export_page
from panelbeater.rig import sample_rig
from panelbeater.terms.rig import Rig
from tests.exports.axe import WHERE_AXE_IS, axe_faults
from tests.exports.pages import (
    IN_A_BROWSER,
    SCORES,
    matrices,
    opened_page,
    piece_matrices,
    settle,
    six,
)
from tests.exports.small_rig import small_covers, small_rig

pytestmark = IN_A_BROWSER
WITH_AXE = WHERE_AXE_IS[-1]
RIG, SAMPLE = small_rig()


def turned_over() -> Rig:
    """Another layout: the two wheels have changed places, and the order changes."""
    rig, _ = small_rig(order_changes=True)
    *others, rear, front = rig.tracks
    swapped = (replace(front, piece=rear.piece), replace(rear, piece=front.piece))
    return replace(rig, tracks=(*others, *swapped))


OTHER = turned_over()
OTHER_SAMPLE = sample_rig(OTHER, np.arange(24, dtype=np.float64))
ENTRIES = [
    Entry(1, "best on balance", RIG, SAMPLE, {"kept vehicle": "0.61", "spill": "0.10"}),
    Entry(2, "keeps most", OTHER, OTHER_SAMPLE, {"kept vehicle": "0.70", "spill": "<b>"}),
]


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("ideas") / "alternates.html"
    choice = Choice(ENTRIES, 0, up="", is_open=True)
    export_page(RIG, SAMPLE, path, scores=SCORES, covers=small_covers(), choice=choice)
    return path


@pytest.fixture
def page(browser: Browser, page_file: Path) -> Iterator[Page]:
    with opened_page(browser, page_file) as page:
        yield page


def test_the_page_to_choose_from_opens_with_every_robot(page: Page) -> None:
    settle(page)
    assert page.locator("#frame-now").inner_text() == "frame 24 of 24"
    assert page.locator("#play").inner_text() == "Play"
    assert page.locator(".cell svg:visible").count() == 2
    assert page.locator("#panel-alternates h3").all_inner_texts() == [
        "1 best on balance",
        "2 keeps most",
    ]


@pytest.mark.parametrize("frame", [0, 11, 12, 23])
def test_one_master_moves_every_stage_as_its_own_rig_says(page: Page, frame: int) -> None:
    page.locator("#scrub").fill(str(frame))
    settle(page)
    own = piece_matrices(page)
    assert own == pytest.approx(six(SAMPLE.stage_from_piece[frame]), abs=0.01)
    order = np.argsort(OTHER.depth[frame])
    beside = matrices(page, ".small .piece")  # far to near, as they are painted
    wanted = six(OTHER_SAMPLE.stage_from_piece[frame])[order]
    assert beside == pytest.approx(wanted, abs=0.01)


def test_a_piece_chosen_on_one_stage_is_lit_on_all(page: Page) -> None:
    wheel = page.locator(".small .piece").nth(6)
    wheel.click()
    assert page.locator("#list .row[aria-expanded=true] .name").inner_text() == "rear_wheel"
    assert page.locator("#lit .lit").count() == 1
    assert page.locator(".small .lit").get_attribute("d") != ""


def test_the_figure_to_compare_by_stands_under_each_stage(page: Page) -> None:
    assert "0.61" in page.locator("#own-words").inner_text()
    page.select_option("#told-by", "spill")
    words = page.locator(".small .cell-words")
    assert "<b>" in words.inner_text()
    link = words.get_by_label("Open alternate 2, keeps most")
    assert link.get_attribute("href") == "2/preview.html"


def test_a_preview_shows_the_others_when_asked(browser: Browser, tmp_path: Path) -> None:
    path = tmp_path / "preview.html"
    choice = Choice(ENTRIES, 1)
    export_page(
        OTHER, OTHER_SAMPLE, path, scores=SCORES, covers=small_covers(), choice=choice
    )
    with opened_page(browser, path, width=390, height=844) as page:
        assert page.locator(".small svg:visible").count() == 0
        page.locator("summary", has_text="On the stage").click()
        page.locator("#alternates-view").check()
        settle(page)
        assert page.locator(".small svg:visible").count() == 1
        assert page.locator(".small a").get_attribute("href") == "../1/preview.html"
        assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_plan_of_its_own_says_nothing_of_alternates(
    browser: Browser, tmp_path: Path
) -> None:
    path = tmp_path / "preview.html"
    export_page(RIG, SAMPLE, path, scores=SCORES, covers=small_covers())
    with opened_page(browser, path) as page:
        assert page.locator(".of-alternates:visible").count() == 0
        page.locator("#tab-checks").focus()
        page.keyboard.press("ArrowRight")
        assert page.locator("#panel-pieces").is_visible()


@pytest.mark.parametrize("own", [0, 1])
def test_a_piece_changes_only_in_the_plan_that_changes_it(
    browser: Browser, tmp_path: Path, own: int
) -> None:
    """Of two plans one bends the tub, redraws the bonnet and hides the bar."""
    tub, bonnet, bar = 0, 2, 5
    rig, sample = small_rig(pieces_change=True)
    plain = replace(rig, tracks=RIG.tracks)
    plans = [Entry(1, "still", plain, SAMPLE, {}), Entry(2, "changing", rig, sample, {})]
    entry = plans[own]
    export_page(
        entry.rig, entry.sample, tmp_path / "page.html", scores={}, covers=small_covers(),
        choice=Choice(plans, own, is_open=True),
    )  # fmt: skip
    with opened_page(browser, tmp_path / "page.html") as page:
        last: dict[str, list[str]] = {}
        for frame in (3, 23):
            page.locator("#scrub").fill(str(frame))
            settle(page)
            for name, stage in (("own", "#pieces"), ("other", ".small")):
                changes = name == ("own" if own == 1 else "other")
                late = changes and frame == 23
                node = f"{stage} .piece[data-index='{{}}']"
                looks = page.locator(f"{node.format(bonnet)} > g > g")
                if looks.count():  # a piece that neither plan changes is shown by reference
                    shown = [look.is_visible() for look in looks.all()]
                    assert shown == [not late, late]
                assert page.locator(node.format(bar)).is_visible() != late
                art = page.locator(f"{node.format(tub)} path").all()
                data = [path.get_attribute("d") or "" for path in art]
                if frame == 23:
                    assert (data != last[name]) == changes
                last[name] = data


@WITH_AXE
@pytest.mark.parametrize("width", [390, 1440])
def test_axe_finds_nothing_between_alternates(
    browser: Browser, page_file: Path, width: int
) -> None:
    page = browser.new_page(viewport={"width": width, "height": 900}, bypass_csp=True)
    page.goto(page_file.as_uri())
    for fold in page.locator("details").all():
        fold.evaluate("node => { node.open = true; }")
    settle(page)
    assert axe_faults(page, passes=15) == []
    page.close()
