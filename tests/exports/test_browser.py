"""The page and the animated drawing in a real browser."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from panelbeater.exports import export_rig_svg
from panelbeater.exports.compose import StillCamera
from panelbeater.terms.arrays import Floats
from tests.exports.pages import IN_A_BROWSER, piece_matrices, settle, six
from tests.exports.small_rig import small_rig

pytestmark = IN_A_BROWSER
RIG, SAMPLE = small_rig(order_changes=True)


def wanted(frame: int) -> Floats:
    return six(SAMPLE.stage_from_piece[frame])


def caption(page: Page) -> str:
    settle(page)
    return page.locator("#frame-now").inner_text()


def test_the_page_starts_paused_at_frame_1_with_the_vehicle(page: Page) -> None:
    page.wait_for_timeout(200)
    assert caption(page) == "frame 1 of 24"
    assert page.locator("#play").inner_text() == "Play"
    assert piece_matrices(page) == pytest.approx(wanted(0), abs=0.01)


def test_scrubbing_to_the_end_gives_the_robot(page: Page) -> None:
    page.locator("#scrub").fill("23")
    settle(page)
    assert piece_matrices(page) == pytest.approx(wanted(23), abs=0.01)
    assert page.locator("#master-now").inner_text() == "master 1.000"


def test_arrows_home_end_and_space_work_from_anywhere(page: Page) -> None:
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowLeft")
    assert caption(page) == "frame 2 of 24"
    page.keyboard.press("End")
    assert caption(page) == "frame 24 of 24"
    page.keyboard.press("Home")
    assert caption(page) == "frame 1 of 24"
    page.keyboard.press("Space")
    page.wait_for_timeout(400)
    page.keyboard.press("Space")
    stopped = caption(page)
    assert stopped != "frame 1 of 24"
    page.wait_for_timeout(150)
    assert caption(page) == stopped


def test_arrows_on_the_master_step_single_frames(page: Page) -> None:
    page.locator("#scrub").focus()
    page.keyboard.press("ArrowRight")
    assert caption(page) == "frame 2 of 24"
    assert "frame 2 of 24" in (page.locator("#scrub").get_attribute("aria-valuetext") or "")


def test_a_ticked_box_does_not_swallow_the_arrows(page: Page) -> None:
    page.locator("#depth-view").focus()
    page.keyboard.press("ArrowRight")
    assert caption(page) == "frame 2 of 24"
    page.keyboard.press("Space")
    assert page.locator("#depth-view").is_checked()
    assert page.locator("#play").inner_text() == "Play"


def test_play_stops_at_the_robot_unless_told_to_go_on(page: Page) -> None:
    page.select_option("#speed", "2")
    page.locator("#play").click()
    expect(page.locator("#play")).to_have_text("Play")
    assert caption(page) == "frame 24 of 24"


def test_on_twos_only_every_second_frame_is_shown(page: Page) -> None:
    page.evaluate(
        "() => { window.seen = new Set(); new MutationObserver(() => window.seen.add("
        "document.getElementById('frame-now').textContent)).observe("
        "document.getElementById('frame-now'), {childList: true}); }"
    )
    page.select_option("#held", "2")
    page.locator("#play").click()
    expect(page.locator("#play")).to_have_text("Play")
    seen = [int(text.split()[1]) for text in page.evaluate("[...window.seen]")]
    assert len(seen) > 5
    assert all(n % 2 == 1 or n == 24 for n in seen)


def test_a_broken_promise_leads_to_its_frame_and_lights_its_pieces(page: Page) -> None:
    page.locator("#tab-checks").click()
    page.locator(".promise button").click()
    assert caption(page) == "frame 12 of 24"
    assert page.locator(".lit.broken").count() == 2  # a piece and a bone
    assert "</script><b>" in page.locator(".promise button").inner_text()
    assert page.locator("#chosen-now").inner_text() == "float broken: bonnet, bone head"


def test_choosing_in_the_list_and_on_the_stage_is_the_same_thing(page: Page) -> None:
    page.locator("#list .row", has_text="bonnet").click()
    assert page.locator("#list .row[aria-expanded=true] .name").inner_text() == "bonnet"
    assert page.locator("#arc path").count() == 1
    page.locator("#stage .piece[data-index='6']").click(position={"x": 8, "y": 20})
    assert page.locator("#list .row[aria-expanded=true] .name").inner_text() == "rear_wheel"


def test_the_stack_follows_the_order_of_the_frame(page: Page) -> None:
    order = "() => [...document.querySelectorAll('.piece')].map(n => +n.dataset.index)"
    assert page.evaluate(order) == np.argsort(RIG.depth[0]).tolist()
    page.keyboard.press("End")
    settle(page)
    assert page.evaluate(order) == np.argsort(RIG.depth[-1]).tolist()


def test_skins_depth_view_and_bones_can_be_shown_and_put_away(page: Page) -> None:
    page.locator("#scrub").fill("12")
    page.select_option("#skins-before", "2")
    page.select_option("#skins-after", "3")
    settle(page)
    assert page.locator("#before > g").count() == 2
    assert page.locator("#after > g").count() == 3
    page.locator("#depth-view").check()
    settle(page)
    assert page.locator("#labels text").count() == 8
    assert page.locator("#before > g").count() == 0
    page.locator("#depth-view").uncheck()
    page.select_option("#body-view", "off")
    settle(page)
    assert page.locator("#labels text").count() == 0
    assert not page.locator("#body").is_visible()
    assert piece_matrices(page) == pytest.approx(wanted(12), abs=0.01)


def test_reduced_motion_makes_play_step(browser: Browser, page_file: Path) -> None:
    calm = browser.new_page(reduced_motion="reduce")
    calm.goto(page_file.as_uri())
    calm.locator("#play").click()
    calm.wait_for_timeout(700)
    frame = int(calm.locator("#frame-now").inner_text().split()[1])
    assert frame in (2, 3)
    assert calm.locator("#slow-note").is_visible()
    calm.close()


def likeness(one: Image.Image, other: Image.Image) -> float:
    """1 less the mean difference over what is drawn: the paper would flatter any mistake.

    Halved first: painters soften edges each in their own way.
    """
    ours, theirs = (np.asarray(image.reduce(2), dtype=float) for image in (one, other))
    paper = ours[0, 0]
    drawn = (np.abs(ours - paper).max(-1) > 8) | (np.abs(theirs - paper).max(-1) > 8)
    return float(1 - np.abs(ours - theirs)[drawn].mean() / 255)


@pytest.mark.parametrize("frame", [0, 6, 12, 17, 23])
def test_the_animated_drawing_shows_the_still_of_each_frame(
    browser: Browser, tmp_path: Path, frame: int
) -> None:
    export_rig_svg(RIG, SAMPLE, tmp_path / "rig.svg")
    camera = StillCamera(RIG, SAMPLE)
    still = camera.picture(frame, 600)
    page = browser.new_page(viewport={"width": still.width, "height": still.height})
    page.goto((tmp_path / "rig.svg").as_uri())
    # The still's height is a whole number of pixels; fill it the same way here.
    page.evaluate("document.documentElement.setAttribute('preserveAspectRatio', 'none')")
    page.evaluate(
        "t => document.getAnimations().forEach(a => { a.pause(); a.currentTime = t; })",
        frame * 1000 / RIG.shot.fps + 1e-3,
    )
    browser_view = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    page.close()
    assert likeness(still, browser_view) >= 0.98
    if 6 <= frame < 20:
        assert likeness(camera.picture(frame + 1, 600), browser_view) < 0.95


def test_the_animated_drawing_stands_still_where_calm_is_asked_for(
    browser: Browser, tmp_path: Path
) -> None:
    export_rig_svg(RIG, SAMPLE, tmp_path / "rig.svg")
    counts = []
    for motion in ("no-preference", "reduce"):
        page = browser.new_page(reduced_motion=motion)
        page.goto((tmp_path / "rig.svg").as_uri())
        counts.append(page.evaluate("document.getAnimations().length"))
        page.close()
    assert counts[0] > 20
    assert counts[1] == 0
