"""Playing by a clock that stands still until the test winds it on."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.exports.pages import IN_A_BROWSER, go_to, matrices, opened_page, settle, six
from tests.exports.small_rig import small_rig

pytestmark = IN_A_BROWSER
RIG, SAMPLE = small_rig(order_changes=True)
LAST = RIG.shot.n_frames - 1
WHOLE_MS = round(1000 * LAST / RIG.shot.fps)


@pytest.fixture
def wound(browser: Browser, page_file: Path) -> Iterator[Page]:
    """The trolley's page under a clock of ours."""
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.clock.install(time=0)
    page.goto(page_file.as_uri())
    page.clock.pause_at(1000)
    page.select_option("#held", "0")
    yield page
    page.close()


def frame_after(page: Page, ms: int) -> int:
    """Frame shown so much later, counted from 0."""
    page.clock.run_for(ms)
    return int(page.locator("#frame-now").inner_text().split()[1]) - 1


@pytest.mark.parametrize(("speed", "share"), [("0.25", 0.25), ("0.5", 0.5), ("1", 1.0)])
def test_speed_is_a_share_of_the_frame_rate(wound: Page, speed: str, share: float) -> None:
    wound.select_option("#speed", speed)
    wound.locator("#play").click()
    assert frame_after(wound, 500) == pytest.approx(share * 12, abs=1)


def test_turning_back_plays_to_the_vehicle_and_again_to_the_robot(wound: Page) -> None:
    wound.select_option("#ending", "back")
    wound.locator("#play").click()
    assert frame_after(wound, WHOLE_MS + 500) == LAST  # held for a second at the end
    assert frame_after(wound, 500 + WHOLE_MS // 2) == pytest.approx(LAST / 2, abs=2)
    assert frame_after(wound, WHOLE_MS // 2 + 400) == 0
    assert 0 < frame_after(wound, 600 + WHOLE_MS // 2) < LAST
    assert wound.locator("#play").inner_text() == "Pause"


def test_starting_again_holds_the_robot_first(wound: Page) -> None:
    wound.select_option("#ending", "again")
    wound.locator("#play").click()
    assert frame_after(wound, WHOLE_MS + 500) == LAST
    assert frame_after(wound, 500 + WHOLE_MS // 2) == pytest.approx(LAST / 2, abs=2)


def test_skins_show_where_the_pieces_are_before_and_after(
    browser: Browser, page_file: Path
) -> None:
    with opened_page(browser, page_file) as page:
        go_to(page, 12)
        page.select_option("#gap", "2")
        page.select_option("#skins-before", "2")
        page.select_option("#skins-after", "1")
        settle(page)
        for layer, place, frame in (("before", 1, 10), ("before", 2, 8), ("after", 1, 14)):
            shown = matrices(page, f"#{layer} > g:nth-child({place}) > path")
            assert shown == pytest.approx(six(SAMPLE.stage_from_piece[frame]), abs=0.01)


def test_an_arc_runs_through_the_piece_at_every_frame(
    browser: Browser, page_file: Path
) -> None:
    with opened_page(browser, page_file) as page:
        page.locator("#list .row", has_text="bonnet").click()
        settle(page)
        spots = page.evaluate(
            "[...document.querySelectorAll('#arc circle:not(.now)')]"
            ".map(n => [+n.getAttribute('cx'), +n.getAttribute('cy')])"
        )
        assert spots == pytest.approx(SAMPLE.stage_from_piece[:, 2, :2, 2], abs=0.01)


def test_everything_about_a_piece_can_be_had_without_a_mouse(
    browser: Browser, page_file: Path
) -> None:
    with opened_page(browser, page_file) as page:
        reached = []
        for _ in range(60):
            page.keyboard.press("Tab")
            here = page.evaluate(
                "document.activeElement.id || document.activeElement.className"
            )
            reached.append(here)
            if here == "row":
                break
        page.keyboard.press("Enter")
        settle(page)
        assert page.locator("#lit .lit").count() == 1
        assert page.locator(".details:visible dt").count() > 7
        for control in ("play", "speed", "held", "ending", "skins-before", "arcs",
                        "depth-view", "scrub", "graph-of", "tab-pieces"):  # fmt: skip
            assert control in reached
        page.keyboard.press("ArrowRight")
        settle(page)
        assert page.locator("#frame-now").inner_text() == "frame 2 of 24"


def test_a_tap_on_the_stage_chooses_a_piece(browser: Browser, page_file: Path) -> None:
    with opened_page(browser, page_file, width=390, height=844, has_touch=True) as page:
        page.locator("#stage .piece[data-index='7']").tap()
        settle(page)
        assert "front_wheel" in page.locator("#chosen-now").inner_text()
