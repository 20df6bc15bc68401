"""What is seen of an outline, how alike two are, and how far apart their edges."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import Geometry, LineString, Polygon, box
from shapely.affinity import rotate, scale, translate

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
from tests.scores.shots import still_scene
from tests.scores.test_edges_by_hand import L_PIECE


def test_a_ring_that_crosses_itself_by_a_hair_is_joined_all_the_same() -> None:
    # Two corners of a region of the demo, turned with an opened arm: the union raised.
    corner = Polygon([(-126.647143856, 97.229250305), (-125.18421349, 95.925733602),
                      (-126.647143893, 97.229249718)])  # fmt: skip
    crossed = Polygon(
        [
            (41.632959288, 29.871716575),
            (41.734190048, 29.780846945),
            (27.568814418, 40.594604716),
            (27.568781305, 40.594629809),
        ]
    )
    assert not crossed.is_valid
    whole = joined(np.array([corner, crossed], dtype=object))
    assert whole.is_valid
    assert whole.area == pytest.approx(corner.area + crossed.area, rel=1e-4)


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
    assert boundary_distance(ring, ring) == 0


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
