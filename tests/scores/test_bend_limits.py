"""The bend test on one arm: where its joint is, and what it leaves in the air."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from shapely import Polygon, box

from tests.scores.shots import Look, Scene, still_scene
from tests.scores.test_layout import layout_scores


def _arm(piece: Polygon, bone: str = "upper_arm_l") -> Scene:
    """An upper arm and a forearm below it, both 2 wide, and one piece that rides one."""
    scene = still_scene()
    scene.figure = box(0, 0, 20, 100)
    scene.regions = {"upper_arm_l": box(0, 0, 20, 50), "forearm_l": box(0, 50, 20, 100)}
    upper, fore = box(9, 0, 11, 51), box(9, 49, 11, 100)
    scene.bones = {"upper_arm_l": [upper] * 8, "forearm_l": [fore] * 8}
    scene.looks = {"plate": [Look(piece, bone, bone)] * 8}
    return scene


@pytest.mark.parametrize(
    ("piece", "bone", "floats"),
    [
        (box(6, 62, 14, 90), "upper_arm_l", 1),  # lies on the forearm, which leaves it
        (box(6, 62, 14, 90), "forearm_l", 0),
        (box(0, 10, 8.5, 40), "upper_arm_l", 0),  # 0.5 of H = 100 from its bone
        (box(0, 10, 8.4, 40), "upper_arm_l", 1),
    ],
)
def test_a_bend_tells_how_many_pieces_it_leaves_in_the_air(
    piece: Polygon, bone: str, floats: float
) -> None:
    score = layout_scores(_arm(piece, bone))["bend test, floats"]
    assert score.value == floats
    assert score.note == ("elbow_l at -45 degrees" if floats else "")


def test_in_a_bend_a_piece_holds_on_to_another_that_is_near_enough() -> None:
    for gap, floats in ((0.049, 0), (0.051, 1)):  # 0.0005 H
        scene = _arm(box(0, 10, 20, 30))
        beside = box(20 + gap, 10, 30, 30)
        scene.looks["tag"] = [Look(beside, "upper_arm_l", "upper_arm_l", depth=1)] * 8
        assert layout_scores(scene)["bend test, floats"].value == floats


def test_the_joint_of_bones_that_do_not_meet_is_half_way_between_them() -> None:
    scene = _arm(box(0, 0, 20, 50))
    scene.bones["upper_arm_l"] = [box(9, 0, 11, 46)] * 8
    scene.bones["forearm_l"] = [Polygon([(10, 54), (11, 100), (9, 100)])] * 8
    sleeve = Look(box(0, 50, 20, 100), "forearm_l", "forearm_l", depth=1)
    scene.looks["sleeve"] = [sleeve] * 8
    # Each region turns with all that covers it about one point: nothing is ever bared.
    assert layout_scores(scene)["bend test, worst"].value == pytest.approx(1)
    scene.looks["sleeve"] = [replace(sleeve, visible=False)] * 8
    # Turned by 90 degrees about (10, 50) the region lies at 10-60 by 40-60, 10 x 10 of it
    # over the plate, and its bone is a spike from (14, 50) to (60, 50), half of
    # whose first 6 of 46 lie over that: 6 x 6 / 46 / 2.
    scores = layout_scores(scene)
    assert scores["bend test, worst"].note == "elbow_l at -45 degrees"
    at_90 = 2 * scores["bend test, mean"].value - scores["bend test, worst"].value
    assert at_90 == pytest.approx((1000 + 46 - 18 / 46) / (1000 + 1000 - 100))


def test_a_joint_needs_two_bones_and_the_regions_their_names() -> None:
    def bent(change: Callable[[Scene], object]) -> bool:
        scene = _arm(box(0, 0, 20, 50))
        change(scene)
        return "bend test, worst" in layout_scores(scene)

    def without(bone: str) -> Callable[[Scene], object]:
        def take(scene: Scene) -> None:
            scene.bones[bone] = [*scene.bones[bone][:7], Polygon()]

        return take

    assert bent(lambda _: None)
    assert not bent(without("upper_arm_l"))
    assert not bent(without("forearm_l"))
    assert not bent(lambda scene: scene.bones.pop("forearm_l"))
    assert not bent(lambda scene: setattr(scene, "regions", {"arm": box(0, 0, 20, 100)}))
