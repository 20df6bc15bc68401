"""Just inside a limit and just outside it: where the judge draws each line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, Polygon, box
from shapely.affinity import rotate, scale

from panelbeater.scores import Placed, Promise, Score, Scores, judge_rules, score_shot
from panelbeater.scores.limits import STANDARD
from panelbeater.scores.motion.landmark import roundness, turn_from_upright
from panelbeater.scores.result import Between, Break, Worst
from panelbeater.scores.tracks import lay_out
from tests.scores.shots import Look, Scene, still_scene

L_PIECE = Polygon([(0, 0), (30, 0), (30, 8), (10, 8), (10, 20), (0, 20)])


def promise(scene: Scene, name: str, **more: object) -> Promise:
    scores = score_shot(scene.shot(), **more)  # type: ignore[arg-type]
    return next(promise for promise in scores.promises if promise.name == name)


def scored(scene: Scene) -> dict[str, Score]:
    scores = score_shot(scene.shot())
    return {score.name: score for score in (*scores.layout, *scores.motion)}


def test_of_a_leak_the_bones_are_named_that_stick_out_most() -> None:
    scene = still_scene()
    scene.bones = {
        name: [bone] * 8
        for name, bone in {
            "torso": box(10, 2, 30, 61),  # inside
            "head": box(35, 0, 45, 10),  # 50 outside
            "hand_l": box(39.1, 20, 40.6, 30),  # 6 outside
            "hand_r": box(39.1, 40, 40.4, 50),  # 4 outside, less than a tenth of 50
            "foot_l": box(10, 60, 30, 100),
        }.items()
    }
    (place,) = promise(scene, "leak").broken
    assert place.pieces == ("bone hand_l", "bone head")
    assert list(place.frames) == [0]
    body = 20 * 59 + 100 + 15 + 13 + 800 - 20  # torso and foot share 20
    assert promise(scene, "leak").value == pytest.approx(60 / body)


def _order(over_by: float, sat_by: float) -> list[str]:
    """A lamp of 10 x 10 that sat on a panel by a share, and ends under it by a share."""
    panel = Placed(
        "panel", "torso", drawn=box(0, 0, 50, 50), laid=box(0, 0, 50, 50), depth=2
    )
    sat, laid = (
        box(50 - 10 * share, 0, 60 - 10 * share, 10) for share in (sat_by, over_by)
    )
    lamp = Placed("lamp", "torso", drawn=sat, laid=laid, drawn_depth=1, depth=1)
    found = judge_rules([lamp, panel], ["lamp", "panel"])
    return [place.told for place in found]


def test_what_sat_by_three_fifths_may_not_end_under_by_a_fiftieth() -> None:
    told = "what lies over what: lamp, panel: sat on panel and ends under it on torso"
    assert _order(1.0, 0.61) == [told]
    assert _order(1.0, 0.59) == []
    assert _order(0.021, 1.0) == [told]
    assert _order(0.019, 1.0) == []


@pytest.mark.parametrize(("least", "is_kept"), [(0.504, True), (0.506, False)])
def test_wanted_cover_is_given_in_whole_percent(least: float, *, is_kept: bool) -> None:
    half = Placed("plate", "torso", laid=box(0, 0, 5, 10))
    found = judge_rules(
        [half], ["plate"], regions={"torso": box(0, 0, 10, 10)}, wanted={"torso": least}
    )
    assert (found == ()) is is_kept
    gone = replace(half, stowed=True, may_stow=True)
    found = judge_rules(
        [gone], ["plate"], regions={"torso": box(0, 0, 10, 10)}, wanted={"torso": 0.1}
    )
    assert [place.detail for place in found] == ["torso is covered 0%, asked for 10%"]


def test_a_pair_is_told_once_and_only_where_it_should_answer() -> None:
    left = Placed("a", "foot_l", mirror="b", scale=1.0)
    right = Placed("b", "foot_r", mirror="a", scale=1.11)
    assert [f.rule for f in judge_rules([left, right], "ab")] == ["mirror sizes"]
    assert judge_rules([left, replace(right, scale=1.09)], "ab") == ()
    astray = replace(right, region="shank_r")
    assert [f.rule for f in judge_rules([left, astray], "ab")] == ["mirror pairs"]
    assert judge_rules([replace(left, mirror="a"), Placed("b", "head")], "ab") == ()


@pytest.mark.parametrize(
    ("turn", "kind", "shape", "share"),
    [
        (59, "panel", L_PIECE, 1.0),
        (61, "panel", L_PIECE, 0.0),
        (-61, "panel", L_PIECE, 0.0),
        (61, "wheel", L_PIECE, 1.0),
        (180, "panel", Point(0, 0).buffer(12, quad_segs=8), 1.0),  # round enough
        (90, "panel", box(0, 0, 20, 16), 0.0),
    ],
)
def test_a_landmark_may_lean_by_sixty_degrees_unless_it_is_round(
    turn: float, kind: str, shape: Polygon, share: float
) -> None:
    scene = still_scene(13)
    looks = {"mark": [Look(shape, depth=9)] + [Look(rotate(shape, turn), depth=9)] * 12}
    scene.looks = {**looks, **scene.looks}
    scene.kinds, scene.signature = {"mark": kind}, ("mark",)
    # The still end, twelve frames of thirteen, is the only hold of six frames.
    assert scored(scene)["landmark legibility"].value == share


def test_a_landmark_too_small_or_half_hidden_is_not_read() -> None:
    scene = still_scene(13)
    scene.signature = ("hood", "door")
    assert scored(scene)["landmark legibility"].value == 1
    small = scale(scene.looks["hood"][0].outline, 0.59, 0.59)
    scene.looks["hood"][1:] = [Look(small, scale=0.59)] * 12
    assert scored(scene)["landmark legibility"].value == 0.5
    scene.looks["wheel"][1:] = [Look(box(-1, 55, 41, 100), depth=2)] * 12
    assert scored(scene)["landmark legibility"].value == 0.0


def test_roundness_and_turn_are_those_of_geometry() -> None:
    assert roundness(box(0, 0, 3, 3)) == pytest.approx(np.pi / 4)
    assert roundness(Point(0, 0).buffer(1, quad_segs=200)) == pytest.approx(1, abs=1e-4)
    for turn in (0, 30, -75, 179):
        turned = rotate(L_PIECE, turn)
        assert turn_from_upright(L_PIECE, turned) == pytest.approx(np.radians(abs(turn)))
        flipped = rotate(scale(L_PIECE, -1, 1), turn)
        assert turn_from_upright(L_PIECE, flipped) == pytest.approx(np.radians(abs(turn)))


def test_regions_count_by_their_area_and_pieces_span_beyond_a_margin() -> None:
    scene = still_scene()
    # Torso 40 x 60: hood 40 x 40 and door to 20 beyond; foot 40 x 40: wheel 40 x 30.
    scene.change("door", 7, outline=box(0, 40, 40, 70))
    found = scored(scene)
    assert found["own cover of torso"].value == pytest.approx(1)
    assert found["own cover of foot_l"].value == pytest.approx(0.75)
    assert found["own-region coverage"].value == pytest.approx(0.6 + 0.4 * 0.75)
    # Two of H = 100 are margin, so that 8 of the door's 30 rows span.
    assert found["spanning at worst"].value == pytest.approx(8 / 30)
    assert found["spanning at worst"].note == "door"
    assert found["spanning"].value == pytest.approx(8 * 40 / (100 * 40))
    assert found["least covered region"].note == "foot_l"
    assert found["coverage with body"].value == pytest.approx(1)
    scene.change("hood", 7, visible=False)
    assert scored(scene)["own cover of torso"].value == pytest.approx(1 / 3)
    # Without the hood its 40 x 40 are bare but for the bone, 20 wide and 38 tall there.
    bare = 1600 - 20 * 38
    with_body = scored(scene)["coverage with body"].value
    assert with_body == pytest.approx((4000 - bare) / 4000)


def test_symmetry_is_across_the_middle_of_the_figure() -> None:
    scene = still_scene()
    scene.mirrors = {"hood": "door", "door": "hood", "wheel": "wheel"}
    scene.change("hood", 7, outline=box(0, 0, 10, 10))
    scene.change("door", 7, outline=box(27, 4, 37, 14))
    # Mirrored at x = 20 the door's middle (32, 9) is (8, 9); the hood's is (5, 5).
    assert scored(scene)["symmetry"].value == pytest.approx(5 / 100)
    assert scored(scene)["symmetry"].note == "worst: hood and door"


def test_numbers_of_a_verdict_have_nine_digits_and_whole_ones_no_point() -> None:
    values = (1 / 3, 2.0, 1e15, 123456789.123456, 0.1 + 0.2)
    scores = Scores((), tuple(Score("x", value, "") for value in values), ())
    layout = scores.to_json()["layout"]
    assert isinstance(layout, list)
    assert all("note" not in row and "series" not in row for row in layout)
    more = Score("x", 1.0, "", note="lamp", series=(1.0, 2.5))
    motion = Scores((), (), (more,)).to_json()["motion"]
    assert isinstance(motion, list)
    assert [motion[0][key] for key in ("note", "series")] == ["lamp", [1, 2.5]]
    told = [row["value"] for row in layout]
    assert told == [0.333333333, 2, 1e15, 123456789, 0.3]
    assert [type(value) for value in told] == [float, int, float, int, float]


def test_a_certificate_tells_what_is_broken_and_what_is_too_close() -> None:
    place = Break((4.5,), ("lamp", "door"), "overlap", Worst(4.5, 1.0, 2.0, 0.25))
    assert place.words == (
        "lamp, door: frame 5.5: overlap; worst frame 5.5 at (1, 2) by 0.25 units"
    )
    sound = Between(9, (), ())
    assert sound.is_certified
    assert "(9 looked at)" in sound.lines()[0]
    broken = Between(9, (("clash", place),), ((3, "float"),))
    assert not broken.is_certified
    assert not Between(9, (), ((3, "float"),)).is_certified
    assert broken.lines()[1:] == [
        "       clash: lamp, door: frame 5.5: overlap",
        "       float: after frame 4: too close to its limit to tell",
    ]
    told = Scores((), (), (), broken).to_json()["between_frames"]
    assert isinstance(told, dict)
    assert told["unsure"] == [{"promise": "float", "after_frame": 3}]
    assert told["broken"][0]["worst"] == {"frame": 4.5, "at": [1, 2], "depth": 0.25}
    assert not told["certified"]


def test_the_shot_is_measured_as_the_metrics_say() -> None:
    tracks = lay_out(still_scene().shot(), STANDARD)
    assert [tracks.height, tracks.diagonal] == pytest.approx([100, 11600**0.5])
    assert tracks.width == pytest.approx(1.2 * 100 * 16 / 9)  # taller than 16:9
    scene = still_scene()
    scene.vehicle = box(-380, 0, 20, 100)
    assert lay_out(scene.shot(), STANDARD).width == pytest.approx(1.2 * 420)
    assert tracks.repeats.tolist() == [False] + [True] * 7
    scene.shift("door", 3, 0.0, 1.0)
    scene.change("hood", 5, visible=False)
    scene.change("wheel", 7, depth=5)
    tracks = lay_out(scene.shot(), STANDARD)
    assert np.flatnonzero(tracks.repeats).tolist() == [1, 2]
    half = scale(scene.looks["hood"][6].outline, 0.5, 0.5)
    scene.change("hood", 6, outline=half)
    measured = lay_out(scene.shot(), STANDARD).measured_scale
    assert measured[6].tolist() == pytest.approx([0.5, 1, 1])


@pytest.mark.parametrize(("wide", "is_kept"), [(0.0011, True), (0.0013, False)])
def test_what_overlaps_at_one_depth_by_a_millionth_of_the_diagonal_squared_clashes(
    wide: float, *, is_kept: bool
) -> None:
    # D squared is 40^2 + 100^2: 0.0116 are allowed, the door is 40 wide less 30.
    scene = still_scene()
    scene.change("hood", 4, outline=box(0, 0, 10, 40 + wide), depth=1)
    found = promise(scene, "clash")
    assert found.kept is is_kept
    assert found.value == (not is_kept)
    scene.change("hood", 4, visible=False)
    assert promise(scene, "clash").kept


@pytest.mark.parametrize(("wide", "is_kept"), [(0.0007, True), (0.0009, False)])
def test_a_change_of_order_over_a_ten_thousandth_is_a_pop(
    wide: float, *, is_kept: bool
) -> None:
    scene = still_scene()
    # The lamp is 80 units large, and lies over the door by 10 x `wide`.
    scene.looks["lamp"] = [Look(box(40 - wide, 45, 48 - wide, 55), depth=3)] * 8
    for frame in range(5, 8):
        scene.change("lamp", frame, depth=1)
        scene.change("door", frame, depth=3)
    found = promise(scene, "pop")
    assert found.kept is is_kept
    if not is_kept:
        (place,) = found.broken
        assert list(place.frames) == [4, 5]
        assert place.detail.startswith("door jumps to the front over 0.00011 of")


@pytest.mark.parametrize(("gap", "is_kept"), [(0.04, True), (0.06, False)])
def test_a_piece_is_held_by_one_that_it_touches_to_a_twentieth_of_a_percent(
    gap: float, *, is_kept: bool
) -> None:
    scene = still_scene()
    scene.looks["mast"] = [Look(box(40 + gap, 0, 60, 5), depth=5)] * 8  # beside the hood
    assert promise(scene, "float").kept is is_kept
    scene.change("hood", 3, visible=False)
    assert promise(scene, "float").value == (1 if is_kept else 8)
