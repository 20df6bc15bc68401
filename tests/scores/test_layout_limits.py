"""Layout scores at their limits, from the last frame alone, at any size of stage."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import Geometry, LineString, Polygon, box
from shapely.affinity import affine_transform, rotate, scale, translate

from panelbeater.scores import Score, score_shot
from panelbeater.scores.layout.coverage import score_coverage
from panelbeater.scores.layout.silhouette import boundary_distance
from panelbeater.scores.likeness import (
    aligned,
    best_similarity,
    corners,
    shape_distance,
)
from panelbeater.scores.limits import STANDARD
from panelbeater.scores.overlay import joined, made_valid
from panelbeater.scores.seen import seen_overlap, seen_parts, seen_share
from panelbeater.scores.tracks import lay_out
from tests.scores.shots import Look, Scene, still_scene

L_PIECE = Polygon([(0, 0), (30, 0), (30, 8), (10, 8), (10, 20), (0, 20)])


def layout_scores(scene: Scene) -> dict[str, Score]:
    return {score.name: score for score in score_shot(scene.shot()).layout}


def _change() -> Scene:
    """Four frames from a vehicle to an arm that differs from it in all ways."""
    upper, fore = box(8, 0, 12, 51), box(8, 49, 12, 100)
    scene = Scene(
        looks={
            "cap": [Look(box(0, 0, 20, 40), "upper", "upper")] * 4,
            "cuff": [Look(box(0, 40, 20, 100), "upper", "upper", depth=1)] * 4,
            "lamp": [Look(box(2, 42, 9, 49), "upper", "upper", depth=2)] * 4,
        },
        bones={"upper": [upper] * 4, "fore": [fore] * 4},
        figure=box(0, 0, 24, 98),
        vehicle=box(0, 0, 20, 100),
        regions={"upper": box(0, 0, 24, 50), "fore": box(0, 50, 24, 98)},
        ground=100.0,
        mirrors={"cap": "lamp", "lamp": "cap"},
        signature=("cap", "lamp"),
    )
    arm = {"upper": "upper_arm_l", "fore": "forearm_l"}
    scene.bones = {arm[name]: shapes for name, shapes in scene.bones.items()}
    scene.regions = {arm[name]: shape for name, shape in scene.regions.items()}
    for name, looks in scene.looks.items():
        scene.looks[name] = [replace(k, bone="upper_arm_l", region="upper_arm_l")
                             for k in looks]  # fmt: skip
    scene.change("cap", 3, outline=box(1, 5, 22, 47), scale=1.025)
    lower = box(1, 44, 21, 101)
    scene.change("cuff", 3, outline=lower, bone="forearm_l", region="forearm_l")
    scene.change("lamp", 3, outline=box(-3, 47, 4, 54), depth=0)
    return scene


def test_a_layout_is_judged_by_its_last_frame_whatever_went_before() -> None:
    plain = layout_scores(_change())
    assert 0 < plain["coverage"].value < plain["bend test, worst"].value < 1
    scene = _change()
    for frame in (1, 2):
        for name, looks in scene.looks.items():
            scene.looks[name][frame] = Look(
                scale(translate(looks[3].outline, 7, -9), 0.7, 0.9), "forearm_l", None,
                depth=9 - looks[3].depth, scale=0.6, visible=name != "lamp",
            )  # fmt: skip
        for bones in scene.bones.values():
            bones[frame] = translate(rotate(bones[frame], 70), 20, 5)
    scene.absent = {("cap", 1)}
    moved = layout_scores(scene)
    assert {name: (score.value, score.note) for name, score in moved.items()} == {
        name: (score.value, score.note) for name, score in plain.items()
    }


@pytest.mark.parametrize("size", [2.0**-24, 2.0**-7, 2.0**9])
def test_no_verdict_depends_on_the_size_of_the_stage(size: float) -> None:
    def judged(scene: Scene) -> dict[str, tuple[float, str]]:
        scores = score_shot(scene.shot())
        all_scores = (*scores.layout, *scores.motion)
        return {
            **{score.name: (score.value, score.note) for score in all_scores},
            **{one.name: (one.value, str(one.kept)) for one in scores.promises},
        }

    drawn, scene = judged(_change()), _change()
    place = [size, 0, 0, size, 0, 0]

    def put(shape: Polygon) -> Polygon:
        return affine_transform(shape, place)

    for name, looks in scene.looks.items():
        scene.looks[name] = [replace(k, outline=put(k.outline)) for k in looks]
    scene.bones = {name: [put(s) for s in shapes] for name, shapes in scene.bones.items()}
    scene.regions = {name: put(shape) for name, shape in scene.regions.items()}
    scene.figure, scene.vehicle, scene.ground = (
        put(scene.figure), put(scene.vehicle), size * scene.ground,
    )  # fmt: skip
    scaled = judged(scene)
    assert list(scaled) == list(drawn)
    for name, (value, note) in drawn.items():
        assert scaled[name][0] == pytest.approx(value, rel=1e-6, abs=1e-9), name
        assert scaled[name][1] == note


@pytest.mark.parametrize(
    ("drawn", "stated", "is_kept"),
    [(0.6, 0.6, True), (0.599, 0.6, False), (0.6, 0.599, False)],
)
def test_a_signature_piece_is_kept_from_three_fifths_of_its_size(
    drawn: float, stated: float, *, is_kept: bool
) -> None:
    scene = still_scene()
    scene.signature = ("hood",)
    scene.change("hood", 7, outline=box(0, 0, 40 * drawn, 40 * drawn), scale=stated)
    score = layout_scores(scene)["signature pieces kept"]
    assert (score.value, score.note) == ((1, "") if is_kept else (0, "hood is too small"))


@pytest.mark.parametrize(("seen", "is_kept"), [(24.0, True), (23.9, False)])
def test_a_signature_piece_is_kept_by_three_fifths_of_its_area(
    seen: float, *, is_kept: bool
) -> None:
    # Of the edge 40 + 2 x 24 of 160 is seen, more than half.
    scene = still_scene()
    scene.signature = ("hood",)
    scene.change("door", 7, outline=box(-1, -1, 41, 40 - seen))
    score = layout_scores(scene)["signature pieces kept"]
    assert score.on_target is is_kept
    assert score.unit == "of 1"


@pytest.mark.parametrize(("strip", "is_kept"), [(29.9, True), (30.1, False)])
def test_a_signature_piece_is_kept_by_half_of_its_edge(
    strip: float, *, is_kept: bool
) -> None:
    # Hidden: the upper edge with 5 of both sides, 50, and a strip of the lower one. Of the
    # area no more than 5 x 40 + 5 x 30 = 350 of 1600.
    scene = still_scene()
    scene.signature = ("hood",)
    scene.change("door", 7, outline=box(-1, -1, 41, 5))
    scene.change("wheel", 7, outline=box(5, 35, 5 + strip, 41))
    score = layout_scores(scene)["signature pieces kept"]
    assert (score.note == "") is is_kept
    assert score.value == is_kept


@pytest.mark.parametrize(
    ("drawn", "stated", "is_kept"),
    [(1.049, 1.0, True), (1.051, 1.0, False), (0.951, 1.0, True), (0.949, 1.0, False),
     (1.0, 1.049, True), (1.0, 1.051, False), (1.0, 0.949, False)],
)  # fmt: skip
def test_a_kept_piece_is_within_a_twentieth_of_its_size_stated_and_drawn(
    drawn: float, stated: float, *, is_kept: bool
) -> None:
    scene = still_scene()
    grown = box(200, 0, 200 + 40 * drawn, 40 * drawn)
    scene.change("hood", 7, outline=grown, scale=stated)
    kept = layout_scores(scene)["kept vehicle"].value
    assert kept == pytest.approx(1.0 if is_kept else 0.6)


def test_what_is_kept_is_told_in_the_vehicles_own_area() -> None:
    scene = still_scene()
    # The hood, a little larger, ends under the door by a quarter of its height.
    scene.change("hood", 7, outline=box(200, 0, 241.6, 41.6), scale=1.04)
    scene.change("door", 7, outline=box(190, 31.2, 290, 43.2))
    kept = layout_scores(scene)["kept vehicle"].value
    # The door (1200 of 4000) is as large as it was, but long: kept are hood and wheel.
    assert kept == pytest.approx((0.75 * 1600 + 1200) / 4000)
    # With more corners in the outline it is the same hood.
    more = shapely.segmentize(box(200, 0, 241.6, 41.6), 15)
    scene.change("hood", 7, outline=more, scale=1.04)
    assert layout_scores(scene)["kept vehicle"].value == pytest.approx(kept)
    scene.change("hood", 7, visible=False)
    assert layout_scores(scene)["kept vehicle"].value == pytest.approx(0.3)


def test_regions_without_an_area_are_not_measured() -> None:
    scene = still_scene()
    plain = layout_scores(scene)
    scene.regions["hand_l"] = Polygon()
    assert layout_scores(scene) == plain
    assert plain["coverage area bound"].value == 1  # all of it, at the most
    scene.regions = {}
    bare = layout_scores(scene)
    assert bare["coverage"].value == plain["coverage"].value
    assert not [name for name in bare if "region" in name or " of " in name]


def test_the_area_bound_takes_each_piece_at_its_own_largest() -> None:
    scene = still_scene()
    for name in scene.looks:
        scene.looks[name] = [Look(box(0, 0, 10, 10))] * 8
    tracks = lay_out(scene.shot(), STANDARD, allowances={"hood": (0.5, 3.0, 0.5)})
    bound = {score.name: score.value for score in score_coverage(tracks)}
    # 900 of the hood and twice 196 of the others, of 4000.
    assert bound["coverage area bound"] == pytest.approx(1292 / 4000)


def test_spanning_is_weighed_by_the_areas_of_the_last_frame() -> None:
    scene = still_scene()
    # Beyond the torso (0-60) and 2 of margin: 40 of the door's 50 rows, none of the hood's.
    scene.change("door", 7, outline=box(0, 52, 40, 102))
    scores = layout_scores(scene)
    assert scores["spanning at worst"].value == pytest.approx(40 / 50)
    assert scores["spanning"].value == pytest.approx(40 * 40 / (40 * (40 + 50 + 30)))


def test_a_robot_of_nothing_has_no_silhouette() -> None:
    scene = still_scene()
    for name in scene.looks:
        scene.change(name, 7, visible=False)
    assert layout_scores(scene)["silhouette IoU"].value == pytest.approx(
        20 * 98 / (40 * 100)  # the bones alone
    )
    for bones in scene.bones.values():
        bones[7] = Polygon()
    assert not {"silhouette IoU", "distinctness"} & set(layout_scores(scene))


def test_the_farthest_point_of_an_edge_need_not_be_a_corner() -> None:
    # A slot 10 wide and 10 deep: the middle of its bottom is 10 from the whole box's edge,
    # its corners are only 5 from it.
    whole = box(0, 0, 20, 20)
    corners_of_it = [
        (0, 0),
        (20, 0),
        (20, 20),
        (15, 20),
        (15, 10),
        (5, 10),
        (5, 20),
        (0, 20),
    ]
    slotted = Polygon(corners_of_it)
    assert boundary_distance(whole, slotted) == pytest.approx(10, abs=0.04)
    # A hole's edge counts as well, and no link leads from one ring to the next.
    ring = Polygon(whole.exterior, [box(6, 6, 10, 10).exterior])
    assert boundary_distance(whole, ring) == pytest.approx(10)


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


@pytest.mark.parametrize(
    ("deep", "seen"),
    # D is sqrt(11600) = 107.7: an edge that lies no more than 1.08e-4 under is seen.
    [(1.0e-4, 1.0), (1.2e-4, 0.75)],
)
def test_an_edge_just_under_another_piece_is_not_hidden(deep: float, seen: float) -> None:
    scene = still_scene()
    scene.change("door", 0, outline=box(-1, 40 - deep, 41, 70))
    tracks = lay_out(scene.shot(), STANDARD)
    area, boundary = seen_share(tracks, 0, 0)
    assert area == pytest.approx(1 - deep / 40)
    assert boundary == pytest.approx(seen, abs=1e-4)


def test_nothing_is_seen_of_what_is_hidden_and_nothing_hides_that_is_not_there() -> None:
    scene = still_scene()
    for frame in (2, 3):
        scene.change("door", frame, outline=box(0, 20, 40, 50))
    scene.change("hood", 2, visible=False)
    scene.change("door", 3, visible=False)
    tracks = lay_out(scene.shot(), STANDARD)
    assert seen_share(tracks, 2, 0) == (0, 0)
    assert shapely.area(seen_parts(tracks, 2)).tolist() == [0, 40 * 30, 40 * 30]
    assert seen_share(tracks, 3, 0) == (1, 1)
    assert shapely.area(seen_parts(tracks, 3)).tolist() == [1600, 0, 1200]


def test_an_overlap_in_sight_is_a_share_of_the_smaller_less_what_lies_nearer() -> None:
    shapes = np.array([box(0, 0, 10, 10), box(6, 0, 11, 10), box(8, 0, 20, 20)])
    # Shared are 6 to 10 of the second's 50; from 8 on the third lies over both.
    assert seen_overlap(shapes, np.array([1, 2, 0]), 0, 1) == pytest.approx(40 / 50)
    assert seen_overlap(shapes, np.array([1, 2, 3]), 0, 1) == pytest.approx(20 / 50)
    assert seen_overlap(shapes, np.array([2, 1, 2]), 0, 1) == pytest.approx(40 / 50)


@pytest.mark.parametrize("size", [1.0, 1e-4])
def test_corner_on_corner_to_rounding_is_the_same_shape(size: float) -> None:
    def distance(off: float) -> float:
        xy = np.array(L_PIECE.exterior.coords)[:-1]
        xy[2] += off * 30
        return shape_distance(scale(L_PIECE, size, size, origin=(0, 0)), Polygon(size * xy))

    # A ten-millionth of the piece's extent, 30: the fit takes up some of what is off.
    assert distance(0) == 0
    assert distance(1e-7) == 0
    assert distance(4e-7) > 0
    assert distance(1e-2) == pytest.approx(1e-2, rel=1)


def test_a_shape_is_aligned_by_centroid_and_area_without_turn_or_flip() -> None:
    target = translate(scale(L_PIECE, 2, 2), 70, -30)
    assert aligned(L_PIECE, target).equals_exact(target, 1e-9)
    turned = aligned(rotate(L_PIECE, 90), target)
    assert turned.area == pytest.approx(target.area)
    assert turned.intersection(target).area < 0.8 * target.area


def test_a_piece_of_one_point_has_a_similarity_all_the_same() -> None:
    speck = Polygon([(3, 4), (3, 4), (3, 4)])
    transform, flip = best_similarity(speck, translate(speck, 2, 1))
    assert corners(speck) @ transform[:, :2].T + transform[:, 2] == pytest.approx(
        np.array([[5.0, 5.0]] * 3)
    )
    assert not flip


def test_what_has_no_area_joins_nothing() -> None:
    shapes: list[Geometry] = [box(0, 0, 2, 2), LineString([(0, 0), (9, 9)]), Polygon()]
    assert joined(np.array(shapes, dtype=object)).equals(box(0, 0, 2, 2))
    bow = Polygon([(0, 0), (4, 4), (4, 0), (0, 4)])
    assert made_valid(bow).area == pytest.approx(8)
    assert made_valid(box(0, 0, 1, 1)).area == 1
