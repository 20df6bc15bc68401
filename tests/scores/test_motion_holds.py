"""Holds and what is read in them, exactly at their limits; W is 2000."""

from __future__ import annotations

import pytest
import shapely
from shapely import Polygon, box
from shapely.affinity import rotate

from panelbeater.scores import Score
from panelbeater.scores.limits import STANDARD
from panelbeater.scores.motion.drawings import Drawings, lay_drawings
from panelbeater.scores.motion.hold import still_spans
from panelbeater.scores.tracks import lay_out
from tests.scores.shots import Look, Scene, moving_scene, still_scene
from tests.scores.test_edges_by_hand import L_PIECE
from tests.scores.test_motion import motion_scores

W = 2000.0


def scored(scene: Scene) -> dict[str, Score]:
    return motion_scores(scene, W)


def laid(scene: Scene) -> Drawings:
    return lay_drawings(lay_out(scene.shot(), STANDARD, frame_width=W))


def test_a_piece_that_jumps_while_it_is_hidden_does_not_break_a_hold() -> None:
    scene = moving_scene({"a": [(50.0, 50.0)] * 5 + [(90.0, 50.0)] * 5})
    assert still_spans(laid(scene).tracks) == [(0, 5), (5, 10)]
    for frame in (3, 4):
        scene.change("a", frame, visible=False)
    assert still_spans(laid(scene).tracks) == [(0, 10)]
    scene.bones["torso"][7] = box(9, 0, 1009, 1000)
    assert still_spans(laid(scene).tracks) == [(0, 7), (8, 10)]


def _marked(*turns: float) -> Scene:
    """A landmark that turns about its middle by so much in each frame, degrees."""
    n_frames = len(turns)
    scene = still_scene(n_frames)
    middle = L_PIECE.centroid
    mark = [Look(rotate(L_PIECE, turn, origin=middle), depth=9) for turn in turns]
    scene.looks = {"mark": mark, **scene.looks}
    scene.signature, scene.inputs = ("mark",), {"mark": L_PIECE}
    return scene


def test_a_landmark_is_read_in_the_last_frame_of_holds_of_six_frames() -> None:
    assert scored(_marked(0, 0, 0, 0, 0, 80))["landmark legibility"].value == 0
    assert scored(_marked(80, 80, 80, 80, 80, 0))["landmark legibility"].value == 1
    assert "landmark legibility" not in scored(_marked(0, 0, 0, 0, 0))
    # Two holds, of six frames and of nine, the body shifted between them.
    scene = _marked(*[0] * 6, *[80] * 9)
    for bones in scene.bones.values():
        bones[6:] = [shapely.affinity.translate(bone, 3, 0) for bone in bones[6:]]
    score = scored(scene)["landmark legibility"]
    assert score.value == pytest.approx(6 / 15)
    assert not score.on_target


@pytest.mark.parametrize(
    ("drawn", "stated", "is_read"),
    [(0.6, 0.6, 1), (0.59, 0.6, 0), (0.6, 0.59, 0), (0.61, 0.61, 1)],
)
def test_a_landmark_is_read_from_three_fifths_of_its_size(
    drawn: float, stated: float, is_read: float
) -> None:
    scene = still_scene(13)
    scene.signature = ("hood",)
    small = Look(box(0, 0, 40 * drawn, 40 * drawn), scale=stated)
    scene.looks["hood"] = [scene.looks["hood"][0], *[small] * 12]
    scene.inputs["hood"] = box(0, 0, 40, 40)
    # The still end of twelve frames is the only hold of six.
    assert scored(scene)["landmark legibility"].value == is_read


@pytest.mark.parametrize(("seen", "is_read"), [(24, 1), (23.9, 0)])
def test_a_landmark_is_read_by_three_fifths_of_its_area(
    seen: float, is_read: float
) -> None:
    scene = still_scene(13)
    scene.signature = ("hood",)
    scene.looks["door"] = [Look(box(-1, 0, 41, 40 - seen), depth=1)] * 13
    assert scored(scene)["landmark legibility"].value == is_read


def test_a_hidden_piece_is_on_no_ramp_and_a_shot_of_none_has_no_outlines() -> None:
    scene = still_scene()
    for frame in (3, 4):
        crossed = Polygon([(0, 0), (40, 40), (40, 0), (0, 20)])
        scene.change("hood", frame, outline=crossed, visible=False)
    scores = scored(scene)
    assert scores["area off the ramp"].value == 0
    assert scores["crossed outlines"].value == 0
    scene.change("hood", 5, outline=box(0, 0, 40, 41))
    assert scored(scene)["area off the ramp"].value == pytest.approx(1 / 40)
    for name in scene.looks:
        for frame in range(8):
            scene.change(name, frame, visible=False)
    assert "crossed outlines" not in scored(scene)
