"""The page evaluates the very rig equation that everything else samples."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from playwright.sync_api import Browser, Page

from panelbeater.exports import export_page
from panelbeater.exports.compose import stage_window
from panelbeater.geometry.stage import bone_transforms, piece_from_drawing
from panelbeater.kinematics.chain import place_bones, skeleton_of
from panelbeater.rig import pose_at, sample_rig
from panelbeater.terms.arrays import Floats
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Pose
from panelbeater.terms.rig import Rig, Sample
from tests.exports.pages import (
    IN_A_BROWSER,
    apart,
    body_matrices,
    drag,
    go_to,
    handle,
    opened_page,
    piece_matrices,
    placed,
    settle,
    six,
)
from tests.exports.small_rig import small_covers, small_rig
from tests.yard import hand_layout, yard

pytestmark = IN_A_BROWSER
RIG, SAMPLE = small_rig(order_changes=True)
SKELETON = skeleton_of(RIG.figure)
WINDOW = stage_window(RIG, SAMPLE)
HANDS = {"arm_l": "hand_l", "arm_r": "hand_r", "leg_l": "foot_l", "leg_r": "foot_r"}


def farthest(rig: Rig, sample: Sample, time: int, page: Page) -> float:
    """Largest distance of any corner from where python puts it, share of the stage."""
    corners = [
        shapely.get_coordinates(piece.outline) - origin
        for piece, origin in zip(
            rig.drawing.pieces, -piece_from_drawing(rig.drawing.pieces)[:, :2, 2],
            strict=True,
        )
    ]  # fmt: skip
    bodies = [shapely.get_coordinates(bone.body) for bone in rig.figure.bones]
    bones = six(bone_transforms(rig, sample))[time]
    window = stage_window(rig, sample)
    off = [
        float(np.abs(placed(shown, xy) - placed(wanted, xy)).max())
        for shown, wanted, xy in (
            *zip(piece_matrices(page), six(sample.stage_from_piece[time]), corners,
                 strict=True),
            *zip(body_matrices(page), bones, bodies, strict=True),
        )
    ]  # fmt: skip
    return max(off) / max(window.width, window.height)


@pytest.mark.parametrize("drawn", ["trolley", "planned tractor"])
def test_every_frame_stands_where_python_samples_it(
    browser: Browser, tmp_path: Path, drawn: str
) -> None:
    rig, sample, covers = RIG, SAMPLE, small_covers()
    if drawn != "trolley":
        shot = yard(48)
        rig, sample = shot.rig, shot.sample
        covers = hand_layout(rig.drawing, rig.figure).covers
    sample = sample_rig(rig, np.arange(rig.shot.n_frames, dtype=np.float64))
    export_page(rig, sample, tmp_path / "page.html", scores={}, covers=covers)
    with opened_page(browser, tmp_path / "page.html") as page:
        for frame in range(rig.shot.n_frames):
            go_to(page, frame)
            assert farthest(rig, sample, frame, page) < 1e-4, frame


def pose_in(page: Page, tmp_path: Path) -> dict[str, Any]:
    """The pose the page would save now."""
    page.locator("#tab-poses").click()
    page.locator("#keep-pose").click()
    with page.expect_download() as waiting:
        page.locator("#pose-list li:last-child button", has_text="Save").click()
    waiting.value.save_as(tmp_path / "pose.json")
    page.locator("#tab-body").click()
    settle(page)
    return dict(json.loads((tmp_path / "pose.json").read_text()))


def as_pose(file: dict[str, Any], n_times: int = 1) -> Pose:
    rest = SKELETON.rest
    turns = rest.turns + np.array([file["turns"][name] for name in BONE_IDS])
    scales = np.array([file["scales"][name] for name in BONE_IDS])
    root = np.array(file["root"])
    return Pose(*(np.stack([v] * n_times) for v in (root, turns, scales)))


def on_stage(page: Page, x: float, y: float) -> Floats:
    """Stage coordinates of a spot on the screen."""
    spot = page.evaluate(
        "([x, y]) => { const p = new DOMPoint(x, y).matrixTransform("
        "document.getElementById('stage').getScreenCTM().inverse()); return [p.x, p.y]; }",
        [x, y],
    )
    return np.array(spot)


def test_armour_changes_on_a_body_whose_action_is_off(page: Page, tmp_path: Path) -> None:
    go_to(page, 9)
    page.locator("#tab-body").click()
    page.locator("#body-action").uncheck()
    drag(page, "arm_l", 30, -20)
    pose = as_pose(pose_in(page, tmp_path), RIG.shot.n_frames)
    times = np.arange(RIG.shot.n_frames, dtype=np.float64)
    wanted = sample_rig(RIG, times, pose=pose)
    moved = wanted.stage_from_bone[9] - SAMPLE.stage_from_bone[9]
    assert np.abs(moved).max() > 1
    for frame in (0, 9, 14, 23):
        go_to(page, frame)
        assert farthest(RIG, wanted, frame, page) < 1e-4


def test_offsets_of_a_piece_and_of_its_limb_add_up(page: Page) -> None:
    page.locator("#list .row", has_text="bonnet").click()
    page.get_by_label("bonnet runs this many").fill("3")
    page.get_by_label("left leg runs this many").fill("-1")
    page.get_by_label("left leg runs this many").blur()
    for frame in (6, 12, 18):
        go_to(page, frame)
        shown = piece_matrices(page)
        for index, later in ((2, 2), (7, -1), (0, 0)):  # bonnet, front wheel, tub
            track = RIG.tracks[index]
            bone = BONE_IDS.index(track.bone)
            ahead = small_rig()[0]
            riding = sample_rig(ahead, np.array([frame - later], dtype=np.float64))
            still = np.linalg.inv(riding.stage_from_bone[0, bone])
            blend = still @ riding.stage_from_piece[0, index]
            wanted = six(SAMPLE.stage_from_bone[frame, bone] @ blend)
            assert shown[index] == pytest.approx(wanted, abs=0.02)
    page.locator("#reset-later").click()
    go_to(page, 12)
    assert piece_matrices(page) == pytest.approx(six(SAMPLE.stage_from_piece[12]), abs=0.02)


@pytest.mark.parametrize("limb", HANDS)
def test_a_dragged_hand_or_foot_goes_where_the_pointer_goes(
    page: Page, tmp_path: Path, limb: str
) -> None:
    go_to(page, 23)
    page.locator("#tab-body").click()
    settle(page)
    before = as_pose(pose_in(page, tmp_path))
    x, y = handle(page, limb)
    dx, dy = (6, -25)
    drag(page, limb, dx, dy)
    tip = BONE_IDS.index(HANDS[limb])
    after = as_pose(pose_in(page, tmp_path))
    was, was_angle = place_bones(SKELETON, before)
    now, now_angle = place_bones(SKELETON, after)
    way = on_stage(page, x + dx, y + dy) - on_stage(page, x, y)
    assert now[0, tip] - was[0, tip] == pytest.approx(way, abs=0.3)
    if limb.startswith("leg"):
        assert now_angle[0, tip] == pytest.approx(was_angle[0, tip], abs=1e-6)
    others = [b for b, name in enumerate(BONE_IDS) if name[-2:] != HANDS[limb][-2:]]
    assert apart(after.turns[0, others], before.turns[0, others]) < 1e-9


def test_feet_stay_when_the_waist_is_dragged(page: Page, tmp_path: Path) -> None:
    go_to(page, 23)
    page.locator("#tab-body").click()
    settle(page)
    before = as_pose(pose_in(page, tmp_path))
    drag(page, "waist", 10, 12)
    after = as_pose(pose_in(page, tmp_path))
    was, was_angles = place_bones(SKELETON, before)
    now, now_angles = place_bones(SKELETON, after)
    assert np.hypot(*(now[0, 0] - was[0, 0])) > 2
    for foot in ("foot_l", "foot_r"):
        tip = BONE_IDS.index(foot)
        assert now[0, tip] == pytest.approx(was[0, tip], abs=1e-6)
        assert now_angles[0, tip] == pytest.approx(was_angles[0, tip], abs=1e-6)


@pytest.mark.parametrize(("name", "bone"), [("torso", "torso"), ("head", "head")])
def test_arrow_keys_on_a_handle_turn_it(
    page: Page, tmp_path: Path, name: str, bone: str
) -> None:
    go_to(page, 23)
    page.locator("#tab-body").click()
    settle(page)
    before = as_pose(pose_in(page, tmp_path))
    page.locator(f".handle[data-name={name}]").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowRight")
    settle(page)
    assert page.locator("#frame-now").inner_text() == "frame 24 of 24"
    change = as_pose(pose_in(page, tmp_path)).turns - before.turns
    assert change[0, BONE_IDS.index(bone)] == pytest.approx(np.deg2rad(12), abs=1e-6)


def test_escape_drops_a_drag_and_reset_takes_all_changes_back(page: Page) -> None:
    go_to(page, 14)
    page.locator("#tab-body").click()
    settle(page)
    x, y = handle(page, "arm_r")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 40, y + 30)
    settle(page)
    assert piece_matrices(page) == pytest.approx(six(SAMPLE.stage_from_piece[14]), abs=0.02)
    assert np.abs(body_matrices(page) - six(bone_transforms(RIG, SAMPLE)[14])).max() > 1
    page.keyboard.press("Escape")
    page.mouse.up()
    settle(page)
    wanted = six(bone_transforms(RIG, SAMPLE)[14])
    assert body_matrices(page) == pytest.approx(wanted, abs=0.02)
    page.get_by_label("left arm elbow, exact").fill("40")
    page.get_by_label("left arm elbow, exact").blur()
    page.locator("#stand").click()
    settle(page)
    assert np.abs(body_matrices(page) - wanted).max() > 1
    page.locator("#reset-body").click()
    settle(page)
    assert body_matrices(page) == pytest.approx(wanted, abs=0.02)


def test_bending_the_other_way_keeps_the_hand(page: Page, tmp_path: Path) -> None:
    go_to(page, 12)
    page.locator("#tab-body").click()
    settle(page)
    before = as_pose(pose_in(page, tmp_path))
    page.get_by_label("bend left arm the other way").click()
    after = as_pose(pose_in(page, tmp_path))
    tip, elbow = BONE_IDS.index("hand_l"), BONE_IDS.index("forearm_l")
    was, now = (place_bones(SKELETON, pose)[0][0] for pose in (before, after))
    assert now[tip] == pytest.approx(was[tip], abs=1e-5)
    assert np.hypot(*(now[elbow] - was[elbow])) > 1


def test_a_pose_of_the_untouched_body_is_the_action(page: Page, tmp_path: Path) -> None:
    go_to(page, 10)
    pose = as_pose(pose_in(page, tmp_path))
    wanted = pose_at(RIG.action, np.array([10.0]))
    assert apart(pose.turns, wanted.turns) < 1e-6
    assert pose.root == pytest.approx(wanted.root, abs=1e-4)
