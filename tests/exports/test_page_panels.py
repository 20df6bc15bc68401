"""Hands, poses, graphs and reach of the page, as somebody uses them."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, Page

from panelbeater.kinematics.chain import skeleton_of
from panelbeater.terms.figure import BONE_IDS
from panelbeater.unfold import read_pose, unfold_body
from tests.exports.pages import (
    IN_A_BROWSER,
    apart,
    body_matrices,
    drag,
    go_to,
    handle,
    opened_page,
    settle,
)
from tests.exports.small_rig import GROUND, small_rig

pytestmark = IN_A_BROWSER
RIG, SAMPLE = small_rig(order_changes=True)
OWN_HAND = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20" onload="alert(1)">
<script>alert(2)</script><style>@import url(http://example.invalid/a.css);</style>
<image href="http://example.invalid/b.png" width="9" height="9"/>
<linearGradient id="g"><stop offset="0" stop-color="#d9a066"/></linearGradient>
<g onclick="alert(3)" style="fill: url(#g); stroke: #333; background: url(http://example.invalid)">
<path id="palm" d="M0 10L20 0L40 10L20 20Z"/>
<path d="M0 0h1v1z" fill="url(http://example.invalid/c)"/></g>
<foreignObject><body xmlns="http://www.w3.org/1999/xhtml">x</body></foreignObject></svg>"""


def test_a_pose_saved_here_is_hit_exactly_by_the_next_plan(
    page: Page, tmp_path: Path
) -> None:
    go_to(page, 11)
    page.locator("#tab-body").click()
    settle(page)
    drag(page, "arm_r", -30, -40)
    drag(page, "leg_l", 12, -9)
    drag(page, "waist", 4, -6)
    page.locator("#tab-poses").click()
    page.locator("#keep-pose").click()
    assert page.locator("#pose-line").inner_text() == 'poses = ["pose-12.json"]'
    with page.expect_download() as waiting:
        page.get_by_label("Save pose-12").click()
    path = tmp_path / waiting.value.suggested_filename
    waiting.value.save_as(path)
    assert path.name == "pose-12.json"
    file = json.loads(path.read_text())
    skeleton = skeleton_of(RIG.figure)
    action = unfold_body(
        skeleton, RIG.fold, height=RIG.figure.height, ground=GROUND, shot=RIG.shot,
        poses=[read_pose(path)],
    )  # fmt: skip
    turns = action.pose.turns[11] - skeleton.rest.turns
    assert apart(turns, np.array([file["turns"][name] for name in BONE_IDS])) < 1e-6
    assert action.pose.root[11] == pytest.approx(file["root"], abs=1e-6)
    scales = np.array([file["scales"][name] for name in BONE_IDS])
    assert action.pose.scales[11] == pytest.approx(scales, abs=1e-6)


def test_a_pose_of_what_was_changed_names_only_that(page: Page, tmp_path: Path) -> None:
    page.locator("#tab-body").click()
    page.get_by_label("head neck, exact").fill("20")
    page.get_by_label("head neck, exact").blur()
    page.locator("#tab-poses").click()
    page.select_option("#pose-extent", "moved")
    page.locator("#keep-pose").click()
    assert "frames 5-" in page.locator("#pose-note").inner_text()  # kept at frame 1
    with page.expect_download() as waiting:
        page.get_by_label("Save pose-1").click()
    waiting.value.save_as(tmp_path / "pose.json")
    file = json.loads((tmp_path / "pose.json").read_text())
    assert list(file["turns"]) == ["head"]
    assert "root" not in file


def test_kept_poses_can_be_shown_opened_and_dropped(page: Page, tmp_path: Path) -> None:
    page.locator("#tab-poses").click()
    (tmp_path / "bow.json").write_text(json.dumps({
        "format": "panelbeater-pose", "version": 1, "frame": 12, "turns": {"torso": 0.5},
    }))  # fmt: skip
    (tmp_path / "bad.json").write_text('{"format": "panelbeater-pose", "version": 9}')
    page.set_input_files("#open-pose", [tmp_path / "bow.json"])
    page.get_by_label("Show bow").click()
    settle(page)
    assert page.locator("#frame-now").inner_text() == "frame 13 of 24"
    assert page.locator("#action-now").inner_text() == "the body stands still"
    page.set_input_files("#open-pose", [tmp_path / "bad.json"])
    page.wait_for_function("document.getElementById('pose-note').textContent != ''")
    assert "version 9" in page.locator("#pose-note").inner_text()
    page.get_by_label("Drop bow").click()
    assert page.locator("#pose-list li").count() == 0


@pytest.mark.parametrize("kind", ["open", "fist"])
def test_a_hand_is_put_on_once_its_pieces_have_landed(page: Page, kind: str) -> None:
    page.locator("#tab-body").click()
    page.select_option("#hand_l", kind)
    hand = page.locator(".hand[data-name=hand_l]")
    landed = next(t.end for t in RIG.tracks if t.bone == "hand_l")
    go_to(page, landed - 1)
    assert not hand.is_visible()
    go_to(page, landed)
    assert hand.is_visible()
    assert not page.locator(".hand[data-name=hand_r]").is_visible()


def test_a_drawing_from_a_stranger_is_cleaned_before_it_is_shown(
    page: Page, tmp_path: Path
) -> None:
    (tmp_path / "glove.svg").write_text(OWN_HAND)
    page.locator("#tab-body").click()
    page.set_input_files("#own-hand", [tmp_path / "glove.svg"])
    page.wait_for_function("document.getElementById('own-note').textContent != ''")
    go_to(page, 23)
    assert page.locator("#hand_r").input_value() == "own"
    markup = page.locator("#hands").inner_html()
    for unwanted in (
        "script",
        "alert",
        "example",
        "image",
        "onload",
        "background",
        "foreign",
    ):
        assert unwanted not in markup
    assert 'fill="url(#own-g)"' in markup
    box = page.locator(".hand[data-name=hand_l]").bounding_box()
    assert box is not None
    assert box["width"] > 4


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("hello", "not an SVG"),
        ("<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>", "no shapes"),
        ("<!DOCTYPE svg [<!ENTITY a 'aa'>]><svg xmlns='http://www.w3.org/2000/svg'/>",
         "entities"),
        ("<svg xmlns='http://www.w3.org/2000/svg'>" + "<g/>" * 5000 + "</svg>", "simplify"),
        ("<svg>" + " " * 600_000 + "</svg>", "512 KiB"),
    ],
)  # fmt: skip
def test_a_drawing_that_cannot_be_used_says_why(
    page: Page, tmp_path: Path, text: str, says: str
) -> None:
    (tmp_path / "glove.svg").write_text(text)
    page.locator("#tab-body").click()
    page.set_input_files("#own-hand", [tmp_path / "glove.svg"])
    page.wait_for_function("document.getElementById('own-note').textContent != ''")
    assert says in page.locator("#own-note").inner_text()
    assert page.locator("#hand_r").input_value() == "none"


def test_the_graph_opens_at_a_missed_score_and_reads_it_at_each_frame(page: Page) -> None:
    assert page.locator("#graph-of option:checked").inner_text() == "tracking load"
    go_to(page, 5)
    assert page.locator("#graph-now").inner_text() == "2, wanted at most 1"
    go_to(page, 20)
    assert page.locator("#graph-now").inner_text() == "0.5, wanted at most 1"
    box = page.locator("#graph").bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] * 0.5, box["y"] + 5)
    settle(page)
    assert page.locator("#frame-now").inner_text() in ("frame 12 of 24", "frame 13 of 24")


def test_a_mark_on_the_strip_leads_to_the_broken_promise(page: Page) -> None:
    page.locator(".limb[data-side=broken] .bar").nth(1).click()
    settle(page)
    assert page.locator("#frame-now").inner_text() == "frame 13 of 24"
    assert page.locator(".lit.broken").count() == 2  # a piece and a bone
    assert page.locator("#tab-checks").inner_text() == "Checks: 1 broken"


def test_a_piece_tells_where_it_goes_why_and_what_it_may_do(page: Page) -> None:
    page.locator("#list .row", has_text="bonnet").click()
    facts = page.locator(".details:visible dl").inner_text()
    for said in ("middle right", "left thigh", "largest piece that fits", "scale 0.7-1.4"):
        assert said in facts


def test_arcs_show_one_piece_all_or_none(page: Page) -> None:
    arcs = page.locator("#arc path")
    assert arcs.count() == 0
    page.select_option("#arcs", "all")
    settle(page)
    assert arcs.count() == 8
    page.select_option("#arcs", "off")
    settle(page)
    assert arcs.count() == 0


def test_arrows_move_between_sections_and_not_between_frames(page: Page) -> None:
    page.locator("#tab-pieces").focus()
    page.keyboard.press("ArrowRight")
    assert page.locator("#panel-body").is_visible()
    assert not page.locator("#panel-pieces").is_visible()
    settle(page)
    assert page.locator("#frame-now").inner_text() == "frame 1 of 24"


def test_on_a_phone_stage_and_master_stay_in_sight(
    browser: Browser, page_file: Path
) -> None:
    with opened_page(browser, page_file, width=390, height=844, has_touch=True) as page:
        page.locator("#tab-body").click()
        page.locator("#joints fieldset").nth(5).scroll_into_view_if_needed()
        for name in ("#stage", "#scrub"):
            box = page.locator(name).bounding_box()
            assert box is not None
            assert 0 <= box["y"] < 500


def test_a_finger_drags_a_handle_and_not_the_page(
    browser: Browser, page_file: Path
) -> None:
    with opened_page(browser, page_file, width=390, height=844, has_touch=True) as page:
        go_to(page, 23)
        page.locator("#tab-body").tap()
        page.evaluate("scrollTo(0, 0)")
        settle(page)
        before, (x, y) = body_matrices(page), handle(page, "arm_l")
        hand = page.context.new_cdp_session(page)

        def touch(kind: str, *spots: tuple[float, float]) -> None:
            points = [{"x": x, "y": y} for x, y in spots]
            touched = {"type": f"touch{kind}", "touchPoints": points}
            hand.send("Input.dispatchTouchEvent", touched)

        touch("Start", (x, y))
        for k in range(1, 6):
            touch("Move", (x + 3 * k, y - 8 * k))
        touch("End")
        settle(page)
        assert np.abs(body_matrices(page) - before).max() > 5
        assert page.evaluate("scrollY") == 0


@pytest.mark.parametrize("width", [390, 820, 1440])
def test_nothing_sticks_out_and_every_control_can_be_hit(
    browser: Browser, page_file: Path, width: int
) -> None:
    with opened_page(browser, page_file, width=width, height=860) as page:
        for tab in ("pieces", "body", "poses", "checks"):
            page.locator(f"#tab-{tab}").click()
            settle(page)
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            sizes = page.evaluate(
                "() => [...document.querySelectorAll("
                "'button, select, input, summary, .handle')]"
                ".filter(n => n.checkVisibility()).map(n => n.getBoundingClientRect())"
                ".filter(r => r.width || r.height).map(r => [r.width, r.height])"
            )
            assert len(sizes) > 12
            assert np.min(sizes) >= 24
