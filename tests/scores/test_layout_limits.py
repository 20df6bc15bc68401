"""Layout scores at their limits, from the last frame alone, at any size of stage."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from shapely import Polygon, box
from shapely.affinity import affine_transform, rotate, scale, translate

from panelbeater.scores import score_shot
from panelbeater.scores.layout.coverage import score_coverage
from panelbeater.scores.limits import STANDARD
from panelbeater.scores.tracks import lay_out
from tests.scores.shots import Look, Scene, still_scene
from tests.scores.test_layout import layout_scores


def _change() -> Scene:
    """Four frames from a vehicle to an arm that differs from it in all ways."""
    upper, fore = "upper_arm_l", "forearm_l"
    scene = Scene(
        looks={
            "cap": [Look(box(0, 0, 20, 40), upper, upper)] * 4,
            "cuff": [Look(box(0, 40, 20, 100), upper, upper, depth=1)] * 4,
            "lamp": [Look(box(2, 42, 9, 49), upper, upper, depth=2)] * 4,
        },
        bones={upper: [box(8, 0, 12, 51)] * 4, fore: [box(8, 49, 12, 100)] * 4},
        figure=box(0, 0, 24, 98),
        vehicle=box(0, 0, 20, 100),
        regions={upper: box(0, 0, 24, 50), fore: box(0, 50, 24, 98)},
        ground=100.0,
        mirrors={"cap": "lamp", "lamp": "cap"},
        signature=("cap", "lamp"),
    )
    scene.change("cap", 3, outline=box(1, 5, 22, 47), scale=1.025)
    scene.change("cuff", 3, outline=box(1, 44, 21, 101), bone=fore, region=fore)
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
