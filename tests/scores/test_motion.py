"""Motion scores against answers worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.affinity import rotate, scale

from panelbeater.scores import Score, score_shot
from panelbeater.scores.limits import STANDARD
from panelbeater.scores.motion.arc import path_over_chord
from panelbeater.scores.motion.drawings import lay_drawings
from panelbeater.scores.motion.ease import peak_over_mean
from panelbeater.scores.motion.jerk import MINIMUM_JERK, dimensionless_jerk
from panelbeater.scores.motion.load import load_of
from panelbeater.scores.tracks import lay_out
from panelbeater.terms.arrays import Floats
from tests.scores.shots import Look, Scene, moving_scene, still_scene

WIDE = 1920.0


def motion_scores(scene: Scene, width: float = WIDE) -> dict[str, Score]:
    scores = score_shot(scene.shot(), frame_width=width)
    return {score.name: score for score in scores.motion}


def line(
    start: tuple[float, float], step: tuple[float, float], n: int
) -> list[tuple[float, float]]:
    return [(start[0] + k * step[0], start[1] + k * step[1]) for k in range(n)]


def minimum_jerk(t: Floats) -> Floats:
    return np.asarray(10 * t**3 - 15 * t**4 + 6 * t**5)


def on_a_line(amount: Floats) -> Floats:
    return np.column_stack([amount, np.zeros(len(amount))])


def test_eight_equal_velocities_are_one_bundle() -> None:
    paths = {f"p{k}": line((50 + 100 * k, 100), (5, 2), 6) for k in range(8)}
    scores = motion_scores(moving_scene(paths))
    series = {name: scores[name].series for name in ("movers", "bundles")}
    assert series == {"movers": (0, 8, 8, 8, 8, 8), "bundles": (0, 1, 1, 1, 1, 1)}


def test_an_eight_way_fan_is_eight_bundles() -> None:
    angles = np.arange(8) * np.pi / 4
    paths = {
        f"p{k}": line((500, 500), (8 * np.cos(a), 8 * np.sin(a)), 6)
        for k, a in enumerate(angles)
    }
    scores = motion_scores(moving_scene(paths))
    assert scores["bundles at most"].value == 8
    assert not scores["bundles"].on_target


def test_pieces_that_turn_with_their_bone_are_one_bundle() -> None:
    # Two pieces on opposite ends of a turning arm go opposite ways, yet read as one thing.
    scene = moving_scene({"near": [(300, 500)] * 4, "far": [(700, 500)] * 4})
    for frame in range(4):
        for name in ("near", "far"):
            turned = rotate(scene.looks[name][0].outline, 10 * frame, origin=(500, 500))
            scene.change(name, frame, outline=turned)
    apart = motion_scores(scene)["bundles at most"].value
    scene.bones["torso"] = [
        rotate(scene.bones["torso"][0], 10 * frame, origin=(500, 500)) for frame in range(4)
    ]
    together = motion_scores(scene)["bundles at most"].value
    assert (apart, together) == (2, 1)


def test_tracking_load_is_one_for_sixteen_at_rest_and_grows_with_speed() -> None:
    # bundles / 16^(1 - v/24): 16 at rest 1; 4 at half the limiting speed 1; any at it.
    assert load_of(16, 0, STANDARD) == pytest.approx(1)
    assert load_of(4, 12, STANDARD) == pytest.approx(1)
    assert load_of(3, 24, STANDARD) == pytest.approx(3)


def test_tracking_load_takes_speed_in_degrees_of_view() -> None:
    # 5 px a frame at 24 fps of 1920 px = 32 degrees: 2 degrees a second; one bundle.
    scores = motion_scores(moving_scene({"p": line((50, 50), (5, 0), 30)}))
    assert scores["tracking load"].value == pytest.approx(16 ** -(1 - 2 / 24))


def secret_scene(speeds: list[float]) -> Scene:
    """A big lead and three small pieces side by side, which shrink from 1 to 0.8."""
    x = np.concatenate([[0.0], np.cumsum(speeds)])
    paths = {f"p{k}": [(100 + v, 100.0 + 20 * k) for v in x] for k in range(3)}
    scene = moving_scene(paths)
    for name in paths:
        for frame, look in enumerate(list(scene.looks[name])):
            size = 0.8 ** (frame / 12)
            scene.looks[name][frame] = Look(
                scale(look.outline, size, size), depth=look.depth, scale=size
            )
    lead = moving_scene({"lead": [(100 + v, 300.0) for v in x]}, size=80)
    scene.looks["lead"] = [Look(look.outline, depth=9) for look in lead.looks["lead"]]
    return scene


@pytest.mark.parametrize(
    ("speeds", "seen"),
    [([30.0] * 12, 0.0), ([20.0] * 12, 1.0), ([30.0] * 6 + [20.0] * 6, 0.5)],
)
def test_resizing_is_secret_only_in_fast_company(speeds: list[float], seen: float) -> None:
    # metrics.md, analytic cases: the gate opens at 1.3 % of 1920 = 25 px a frame.
    score = motion_scores(secret_scene(speeds))["secrecy"]
    assert score.value == pytest.approx(seen, abs=1e-9)
    assert score.series is not None
    assert sum(score.series) == pytest.approx(seen, abs=1e-9)


def test_the_piece_the_eye_follows_cannot_hide() -> None:
    scene = secret_scene([30.0] * 12)
    # Without the big lead the eye is on one of the three all the time: 1/3 is seen.
    del scene.looks["lead"]
    assert motion_scores(scene)["secrecy"].value == pytest.approx(1 / 3)


def test_one_neighbour_is_not_company_enough() -> None:
    scene = secret_scene([30.0] * 12)
    del scene.looks["p0"], scene.looks["p1"]
    assert motion_scores(scene)["secrecy"].value == pytest.approx(1.0)


def test_a_change_of_a_tenth_in_one_frame_is_seen() -> None:
    scene = secret_scene([30.0] * 12)
    for name in ("p0", "p1", "p2"):
        for frame in range(13):
            whole = moving_scene({"p": [(100 + 30 * frame, 100)]}).looks["p"][0].outline
            size = 0.8 if frame > 5 else 1.0  # |ln 0.8| = 0.22 at once
            scene.change(name, frame, outline=scale(whole, size, size), scale=size)
    assert motion_scores(scene)["secrecy"].value == pytest.approx(1.0)


def test_step_is_displacement_over_extent() -> None:
    # A square of side 10 that goes 4 along its side, then 4 along its diagonal (14.1).
    scores = motion_scores(moving_scene({"p": line((50, 50), (4, 0), 6)}))
    assert scores["step"].value == pytest.approx(0.4)
    slant = 4 / np.sqrt(2)
    scores = motion_scores(moving_scene({"p": line((50, 50), (slant, slant), 6)}))
    assert scores["step"].value == pytest.approx(0.4 / np.sqrt(2))
    scores = motion_scores(moving_scene({"p": line((50, 50), (11, 0), 6)}))
    assert scores["strobing"].value == 1


def test_judder_is_weighted_by_area() -> None:
    # 0.6-2.1 % of 1920 is 11.5-40.3 px. The big piece (side 30) goes 20, the small (10) 5.
    scene = moving_scene({"small": line((50, 50), (5, 0), 6)})
    big = moving_scene({"big": line((50, 200), (20, 0), 6)}, size=30)
    scene.looks |= big.looks
    assert motion_scores(scene)["judder share"].value == pytest.approx(900 / 1000)


def test_on_twos_a_step_is_from_drawing_to_drawing() -> None:
    path = [(50.0 + 6 * (frame // 2), 50.0) for frame in range(20)]
    scores = motion_scores(moving_scene({"p": path}))
    assert scores["step"].value == pytest.approx(0.6)
    assert scores["movers"].series == (0, 0, *[1] * 18)
    # 6 px every second frame is 3 px a frame: 1.2 degrees a second.
    assert scores["tracking load"].value == pytest.approx(16 ** -(1 - 1.2 / 24))
    assert scores["ease"].value == pytest.approx(1.0)


@pytest.mark.parametrize("held", [1, 2, 3, 4])
def test_a_drawing_may_be_held_up_to_four_frames(held: int) -> None:
    path = [(50.0 + 6 * (frame // held), 50.0) for frame in range(8 * held)]
    assert motion_scores(moving_scene({"p": path}))["step"].value == pytest.approx(0.6)
    drawings = lay_drawings(lay_out(moving_scene({"p": path}).shot(), STANDARD))
    assert drawings.exposure == held


def test_peak_over_mean_knows_the_four_eases() -> None:
    # Linear 1, smoothstep 1.5, half cosine pi/2, minimum jerk 1.875 (Flash & Hogan 1985).
    t = np.linspace(0, 1, 2001)
    half_cosine = (1 - np.cos(np.pi * t)) / 2
    eases = {
        1.0: t,
        1.5: 3 * t**2 - 2 * t**3,
        np.pi / 2: half_cosine,
        1.875: minimum_jerk(t),
    }
    for constant, amount in eases.items():
        assert peak_over_mean(on_a_line(amount)) == pytest.approx(constant, rel=1e-5)


def test_minimum_jerk_has_its_published_constants() -> None:
    # Flash & Hogan 1985: peak acceleration 10/sqrt(3), integral of squared jerk 720.
    t = np.linspace(0, 1, 4001)
    x = minimum_jerk(t)
    acceleration = np.diff(x, n=2) * 4000**2
    assert np.abs(acceleration).max() == pytest.approx(10 / np.sqrt(3), rel=1e-5)
    coarse = on_a_line(minimum_jerk(np.linspace(0, 1, 401)))
    assert dimensionless_jerk(coarse) == pytest.approx(MINIMUM_JERK, rel=0.01)


def test_jerk_and_ease_of_a_planned_move_read_as_minimum_jerk() -> None:
    t = np.clip((np.arange(60) - 6) / 40, 0, 1)
    path = [(100 + 600 * float(x), 100.0) for x in minimum_jerk(t)]
    scores = motion_scores(moving_scene({"p": path}))
    assert scores["ease"].value == pytest.approx(1.875, rel=0.01)
    assert 0.9 < scores["jerk"].value < 1.0  # third differences read low
    assert scores["arc"].value == pytest.approx(1.0)
    assert not scores["arc"].on_target


def test_a_jerky_move_scores_worse_than_a_smooth_one() -> None:
    t = np.linspace(0, 1, 41)
    smooth, linear = (
        dimensionless_jerk(on_a_line(minimum_jerk(t))),
        dimensionless_jerk(on_a_line(t)),
    )
    assert linear > 10 * smooth


def test_a_quarter_circle_is_longer_than_its_chord() -> None:
    # metrics.md, analytic cases: (pi/2) / sqrt(2) = 1.1107.
    angles = np.linspace(0, np.pi / 2, 2001)
    path = np.column_stack([np.cos(angles), np.sin(angles)])
    assert path_over_chord(path) == pytest.approx(1.1107, abs=1e-4)


def test_a_corner_in_the_path_is_a_kink() -> None:
    path = line((50, 50), (8, 0), 5) + line((82, 58), (0, 8), 4)
    score = motion_scores(moving_scene({"p": path}))["kink"]
    assert score.value == pytest.approx(90)
    # The turn stands at the drawing between the steps: frame 4 from 0, shown as 5.
    assert score.note == "p, frame 5; 100.0% of all turns are above 30"


def test_a_corner_is_told_as_a_share_of_all_turns() -> None:
    # A right-angled corner and, of eight steps, six more turns of 5.7 degrees each.
    angles = np.radians([0, 5.7, 11.4, 17.1, 107.1, 112.8, 118.5, 124.2])
    steps = 8 * np.column_stack([np.cos(angles), np.sin(angles)])
    path = [(500.0, 500.0), *map(tuple, (500 + np.cumsum(steps, axis=0)).tolist())]
    score = motion_scores(moving_scene({"p": path}))["kink"]
    assert score.note == "p, frame 5; 14.3% of all turns are above 30"


def test_bare_body_is_what_no_piece_covers() -> None:
    # A plate a quarter of the body's size walks off it, half a side a frame.
    path = [(250.0, 250.0)] * 18 + [(0.0, 250.0), (-250.0, 250.0)]
    score = motion_scores(moving_scene({"p": path}, size=500.0))["bare body"]
    assert score.series == pytest.approx([0.75] * 18 + [0.875, 1.0])
    assert score.value == pytest.approx(np.percentile([0.75] * 18 + [0.875, 1.0], 95))
    assert score.note == "highest 1.00, frame 20"


def test_holds_are_counted_in_frames() -> None:
    x = [0.0] * 6 + [10.0, 20.0, 30.0] + [30.0] * 4 + [40.0, 50.0] + [50.0] * 11
    scores = motion_scores(moving_scene({"p": [(100 + v, 100) for v in x]}))
    assert scores["hold of the vehicle"].value == 6
    assert scores["longest hold between"].value == 5
    assert scores["hold of the robot"].value == 12
    assert scores["hold of the robot"].on_target


def test_a_landmark_on_its_side_is_not_legible_unless_it_is_round() -> None:
    def legible(angle: float, kind: str) -> float:
        scene = still_scene(20)
        scene.signature, scene.kinds = ("hood",), {"hood": kind}
        for frame in range(10, 20):
            turned = rotate(scene.looks["hood"][0].outline, angle)
            scene.change("hood", frame, outline=turned)
        return motion_scores(scene)["landmark legibility"].value

    assert legible(50, "lamp") == 1
    assert legible(70, "lamp") < 1
    assert legible(70, "wheel") == 1


def test_a_still_shot_has_no_motion_to_score() -> None:
    scores = motion_scores(still_scene())
    for name in ("movers", "bundles", "tracking load", "secrecy", "step", "judder share"):
        assert scores[name].value == 0
    assert "ease" not in scores
