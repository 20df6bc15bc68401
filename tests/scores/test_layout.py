"""Layout scores against answers worked out by hand and against scikit-image on rasters."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.affinity import affine_transform, rotate, scale, translate
from skimage.draw import polygon2mask
from skimage.metrics import hausdorff_distance

from panelbeater.scores import Score, score_shot
from panelbeater.scores.arrays import Flags
from panelbeater.scores.layout.silhouette import boundary_distance
from panelbeater.scores.likeness import (
    best_similarity,
    intersection_over_union,
    mapped,
    shape_distance,
)
from panelbeater.scores.limits import STANDARD
from panelbeater.scores.overlay import shared, unlike
from panelbeater.scores.seen import seen_share
from panelbeater.scores.tracks import lay_out
from tests.scores.shots import Look, Scene, still_scene

L_PIECE = Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 20), (0, 20)])


def layout_scores(scene: Scene) -> dict[str, Score]:
    return {score.name: score for score in score_shot(scene.shot()).layout}


def end_with(scene: Scene, piece: str, outline: Polygon, **what: object) -> None:
    for frame in range(1, scene.n_frames):
        scene.change(piece, frame, outline=outline, **what)


def test_a_figure_dressed_in_its_own_regions_scores_full_marks() -> None:
    scores = layout_scores(still_scene())
    # The door (40-70) belongs to the torso (0-60): 10 of its 30 units hang below, less the
    # margin of 0.02 H = 2; the foot (60-100) has only the wheel (70-100), 30 of its 40.
    assert scores["coverage"].value == pytest.approx(1.0)
    assert scores["own cover of torso"].value == pytest.approx(1.0)
    assert scores["own cover of foot_l"].value == pytest.approx(0.75)
    assert scores["own-region coverage"].value == pytest.approx(0.6 * 1.0 + 0.4 * 0.75)
    assert scores["spanning at worst"].value == pytest.approx(8 / 30)
    assert scores["spanning"].value == pytest.approx(8 / 100)
    assert scores["spill"].value == 0
    assert scores["overlap"].value == 0
    assert scores["kept vehicle"].value == pytest.approx(1.0)
    assert scores["silhouette IoU"].value == pytest.approx(1.0)
    assert scores["silhouette distance"].value == pytest.approx(0.0, abs=1e-12)
    assert scores["distinctness"].value == pytest.approx(0.0)


def test_a_hood_moved_off_uncovers_spills_and_overlaps() -> None:
    scene = still_scene()
    # The hood (40 x 40) ends 20 to the right and 20 lower: a quarter of it over the door.
    end_with(scene, "hood", box(20, 20, 60, 60))
    scores = layout_scores(scene)
    assert scores["coverage"].value == pytest.approx((4000 - 1600 + 20 * 20) / 4000)
    assert scores["least covered region"].note == "torso"
    assert scores["coverage of torso"].value == pytest.approx((2400 - 1600 + 400) / 2400)
    assert scores["spill"].value == pytest.approx(20 * 40 / 4000)
    assert scores["overlap"].value == pytest.approx(20 * 20 / 4000)
    # The body adds the torso bone (10-30 x 2-61) where nothing covers it: 20 wide, 2 to 20
    # high, and 10 wide from 20 to 40.
    assert scores["coverage with body"].value == pytest.approx(
        (2800 + 20 * 18 + 200) / 4000
    )


def test_the_area_bound_is_pieces_at_their_largest() -> None:
    scene = still_scene()
    small = box(0, 0, 10, 10)
    for name in scene.looks:
        scene.looks[name] = [Look(small, depth=0)] * 8
    # 3 x 100 x 1.4^2 of 4000.
    assert layout_scores(scene)["coverage area bound"].value == pytest.approx(588 / 4000)


def test_a_half_covered_square_is_half_kept_and_hidden_as_a_landmark() -> None:
    scene = still_scene()
    scene.signature = ("hood",)
    # The door ends over the lower half of the hood: 1600 / 2 of the vehicle's 4000 is lost.
    end_with(scene, "door", box(0, 20, 40, 50))
    scores = layout_scores(scene)
    assert scores["kept vehicle"].value == pytest.approx((4000 - 800) / 4000)
    assert scores["signature pieces kept"].value == 0
    assert scores["signature pieces kept"].note == "hood is hidden"


def test_a_piece_covered_by_another_half_in_the_vehicle_may_stay_covered() -> None:
    scene = still_scene()
    for frame in range(8):
        scene.change("door", frame, outline=box(0, 20, 40, 70))
    # Seen in the vehicle: all 4000; the same half of the hood is seen at both ends.
    assert layout_scores(scene)["kept vehicle"].value == pytest.approx(1.0)


@pytest.mark.parametrize(("size", "kept"), [(1.04, 1.0), (1.06, 0.6)])
def test_a_resized_hood_is_kept_within_five_percent(size: float, kept: float) -> None:
    scene = still_scene()
    grown = translate(scale(box(0, 0, 40, 40), size, size), 200, 0)
    end_with(scene, "hood", grown, scale=size)
    assert layout_scores(scene)["kept vehicle"].value == pytest.approx(kept)


def test_a_turned_and_flipped_hood_is_the_same_shape() -> None:
    turned = rotate(scale(L_PIECE, -0.8, 0.8), 70)
    assert shape_distance(L_PIECE, turned) == pytest.approx(0.0, abs=1e-9)
    # Without corresponding corners the fit goes by centroid, area and long axis.
    other = Polygon(np.roll(np.array(L_PIECE.exterior.coords)[:-1], 2, axis=0))
    finer = shapely.segmentize(rotate(other, 70), 3.0)
    assert shape_distance(L_PIECE, finer) == pytest.approx(0.0, abs=1e-6)


def test_a_stretched_square_differs_by_what_sticks_out() -> None:
    # Corner fit keeps the mean size 1.5: a 1.5-square over a 2 x 1 box shares 1.5 x 1.
    stretched = box(0, 0, 2, 1)
    expected = 1 - 1.5 / (1.5 * 1.5 + 2 - 1.5)
    assert shape_distance(box(0, 0, 1, 1), stretched) == pytest.approx(expected)


def test_mirror_pairs_are_measured_across_the_figure() -> None:
    scene = still_scene()
    scene.mirrors = {"hood": "door", "door": "hood"}
    end_with(scene, "hood", box(-30, 0, 0, 30))  # centre (-15, 15); mirror line x = 20
    end_with(scene, "door", box(40, 4, 70, 34))  # centre (55, 19): 4 low, no side error
    scene.absent = {("hood", 6), ("door", 0)}  # only the last frame tells
    score = layout_scores(scene)["symmetry"]
    assert score.value == pytest.approx(0.04)
    scene.absent = {("hood", 7)}
    assert "symmetry" not in layout_scores(scene)


@pytest.mark.parametrize("shift", [0.0, 0.1, 0.25, 0.5, 0.9])
def test_shifted_squares_share_what_they_must(shift: float) -> None:
    # metrics.md, analytic cases: IoU = (1 - d) / (1 + d).
    square = box(0, 0, 1, 1)
    expected = (1 - shift) / (1 + shift)
    assert intersection_over_union(square, translate(square, shift)) == pytest.approx(
        expected
    )
    assert boundary_distance(square, translate(square, shift)) == pytest.approx(
        shift, abs=1e-9
    )


def test_a_notch_is_as_far_as_it_is_deep() -> None:
    # A V-notch 4 deep in the side of a 20-box: its tip is 4 from the whole box's edge.
    whole = box(0, 0, 20, 20)
    notched = Polygon([(0, 0), (20, 0), (20, 9), (16, 10), (20, 11), (20, 20), (0, 20)])
    assert boundary_distance(whole, notched) == pytest.approx(4.0)


def test_silhouette_measures_agree_with_scikit_image_on_rasters() -> None:
    # Outside check: skimage.metrics.hausdorff_distance and pixel counts on 300 x 300.
    one = Polygon([(40, 30), (250, 60), (230, 240), (120, 180), (60, 260)])
    other = rotate(translate(one, 12, -5), 9, origin=(150, 150))
    masks = []
    for shape in (one, other):
        rows = np.array(shape.exterior.coords)[:, ::-1]
        masks.append(polygon2mask((300, 300), rows))  # type: ignore[no-untyped-call]
    iou = (masks[0] & masks[1]).sum() / (masks[0] | masks[1]).sum()
    assert intersection_over_union(one, other) == pytest.approx(iou, abs=0.005)
    edges = [mask & ~np.pad(_inner(mask), 1) for mask in masks]
    raster = hausdorff_distance(*edges)  # type: ignore[no-untyped-call]
    assert boundary_distance(one, other) == pytest.approx(raster, abs=2.0)


def _inner(mask: Flags) -> Flags:
    inner: Flags = (
        mask[1:-1, 1:-1]
        & mask[:-2, 1:-1]
        & mask[2:, 1:-1]
        & mask[1:-1, :-2]
        & mask[1:-1, 2:]
    )
    return inner


def test_boundary_distance_is_never_less_than_that_of_the_corners() -> None:
    # Outside check: shapely's Hausdorff distance looks at corners only.
    one = Polygon([(0, 0), (10, 1), (12, 9), (3, 8)])
    other = translate(one, 2, 1)
    corners = shapely.hausdorff_distance(one.boundary, other.boundary)
    assert boundary_distance(one, other) >= corners - 1e-9


def test_an_arm_dressed_in_one_stiff_piece_is_bared_by_the_elbow() -> None:
    # Upper arm 0-50, forearm 50-100, both 20 wide. One stiff piece rides the upper arm.
    scene = still_scene()
    scene.regions = {"upper_arm_l": box(0, 0, 20, 50), "forearm_l": box(0, 50, 20, 100)}
    scene.figure = box(0, 0, 20, 100)
    scene.bones = {
        "upper_arm_l": [box(9, 0, 11, 51)] * 8,
        "forearm_l": [box(9, 49, 11, 100)] * 8,
    }
    scene.looks = {"sleeve": [Look(box(0, 0, 20, 100), "upper_arm_l", "upper_arm_l")] * 8}
    stiff = layout_scores(scene)
    scene.looks = {
        "sleeve": [Look(box(0, 0, 20, 50), "upper_arm_l", "upper_arm_l", depth=0)] * 8,
        "cuff": [Look(box(0, 50, 20, 100), "forearm_l", "forearm_l", depth=1)] * 8,
    }
    split = layout_scores(scene)
    assert stiff["coverage"].value == split["coverage"].value == pytest.approx(1.0)
    assert split["bend test, worst"].value == pytest.approx(1.0)
    assert stiff["bend test, worst"].note == "elbow_l at -90 degrees"
    # The forearm lies level to the right of the joint (10, 50): 0-50 x 40-60 from x = 10.
    # The turned figure is 20 x 50 + 50 x 20 less their overlap 10 x 10; covered are the
    # upper arm, the sleeve over 10-20 x 50-60, and the bone 2 high from x = 20 to 60.
    assert stiff["bend test, worst"].value == pytest.approx((1000 + 100 + 80) / 1900)
    assert split["bend test, floats"].value == 0


def test_bends_are_those_of_the_robot_whatever_went_before() -> None:
    def dressed(*, early: bool) -> Scene:
        scene = still_scene()
        scene.regions = {"upper_arm_l": box(0, 0, 20, 50), "forearm_l": box(0, 50, 20, 100)}
        scene.figure = box(0, 0, 20, 100)
        arm, hand = box(9, 0, 11, 51), box(9, 49, 11, 100)
        folded = (box(-60, 0, -40, 9), "forearm_l") if early else (arm, "upper_arm_l")
        scene.bones = {"upper_arm_l": [folded[0]] * 7 + [arm], "forearm_l": [hand] * 8}
        sleeve = Look(box(0, 0, 20, 90), "upper_arm_l", "upper_arm_l")
        scene.looks = {"sleeve": [replace(sleeve, bone=folded[1])] * 7 + [sleeve]}
        return scene

    plain, moved = layout_scores(dressed(early=False)), layout_scores(dressed(early=True))
    for name in ("bend test, worst", "bend test, mean", "bend test, floats"):
        assert moved[name].value == plain[name].value
    assert 0 < plain["bend test, worst"].value < plain["bend test, mean"].value < 1


@settings(max_examples=6, deadline=None, derandomize=True)
@given(
    x=st.floats(-300, 300),
    y=st.floats(-300, 300),
    size=st.floats(0.2, 5),
)
def test_scores_do_not_depend_on_where_the_stage_lies(
    x: float, y: float, size: float
) -> None:
    scene = still_scene()
    end_with(scene, "hood", box(20, 20, 60, 60))
    base = layout_scores(scene)
    place = [size, 0, 0, size, x, y]
    for looks in scene.looks.values():
        for at, look in enumerate(looks):
            looks[at] = Look(
                affine_transform(look.outline, place), look.bone, look.region, look.depth
            )
    for shapes in (*scene.bones.values(),):
        shapes[:] = [affine_transform(shape, place) for shape in shapes]
    scene.regions = {k: affine_transform(v, place) for k, v in scene.regions.items()}
    scene.figure = affine_transform(scene.figure, place)
    scene.vehicle = affine_transform(scene.vehicle, place)
    moved = layout_scores(scene)
    assert list(moved) == list(base)
    for name, score in base.items():
        assert moved[name].value == pytest.approx(score.value, abs=1e-3), name


def test_overlays_of_outlines_that_nearly_coincide_keep_their_areas() -> None:
    # In plain floating point GEOS 3.14 finds nothing shared by these two (jts issue 1000).
    one = rotate(scale(L_PIECE, -0.8, 0.8), 70)
    transform, flip = best_similarity(L_PIECE, one)
    again = mapped(L_PIECE, transform)
    assert flip
    assert shapely.hausdorff_distance(one, again) < 1e-13
    assert shared(one, again).area == pytest.approx(256)
    assert shapely.area(unlike(np.array([one]), np.array([again])))[0] < 1e-6


def test_an_edge_that_a_nearer_piece_only_touches_is_seen() -> None:
    tracks = lay_out(still_scene().shot(), STANDARD)
    assert seen_share(tracks, 0, 0) == pytest.approx((1.0, 1.0))
    scene = still_scene()
    # Over the hood's lower half, side edges flush: only the lower edge is inside the door.
    scene.change("door", 0, outline=box(0, 20, 40, 50))
    tracks = lay_out(scene.shot(), STANDARD)
    assert seen_share(tracks, 0, 0) == pytest.approx((0.5, 0.75), abs=1e-3)
