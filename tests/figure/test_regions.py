"""Regions share the silhouette; bodies hang together under them."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest
import shapely
from shapely import MultiPolygon, Polygon
from shapely.affinity import affine_transform

from panelbeater.terms.figure import Figure
from tests.figure.people import (
    A_POSE,
    HEAD,
    LEGS,
    NECK,
    ONE_BLOCK,
    T_POSE,
    TRUNK,
    arms,
    by_id,
    limb,
    read,
)

LENS = '<path fill-rule="evenodd" d="M76 36H124L118 100H82ZM90 50V70H110V50Z"/>'
WAVE = limb("121,44 150,62 153,22", 11)
DRAWINGS = {
    "a pose": A_POSE,
    "t pose": T_POSE,
    "one block": ONE_BLOCK,
    "hole in the chest": HEAD + NECK + LENS + LEGS + arms("121,44 138,76 150,108"),
    "one arm up": HEAD + NECK + TRUNK + LEGS + WAVE,
    "close arms": HEAD + NECK + TRUNK + LEGS + arms("128,42 128,104", 7),
    "loose badge": A_POSE + '<circle cx="160" cy="20" r="2"/>',
}


@pytest.fixture(params=sorted(DRAWINGS), scope="module")
def figure(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Figure:
    return read(tmp_path_factory.mktemp("figure"), DRAWINGS[request.param])


def test_regions_share_the_silhouette_without_gap_or_overlap(figure: Figure) -> None:
    whole = figure.silhouette.area
    regions = [bone.region for bone in figure.bones]
    assert sum(region.area for region in regions) == pytest.approx(whole, rel=1e-6)
    union = shapely.union_all(regions)
    assert union.symmetric_difference(figure.silhouette).area < 1e-6 * whole
    for one, other in combinations(regions, 2):
        assert one.intersection(other).area < 1e-7 * whole


def test_every_region_is_a_valid_polygon_with_area(figure: Figure) -> None:
    for bone in figure.bones:
        assert isinstance(bone.region, Polygon | MultiPolygon)
        assert bone.region.is_valid
        assert bone.region.area > 0


def test_bodies_are_simple_and_stay_above_the_floor(figure: Figure) -> None:
    floor = figure.silhouette.bounds[3]
    for bone in figure.bones:
        assert isinstance(bone.body, Polygon)
        assert bone.body.is_valid
        assert not bone.body.interiors
        assert len(bone.body.exterior.coords) - 1 <= 40
        assert bone.body.bounds[3] <= floor + 1e-9


def test_bodies_touch_their_parents(figure: Figure) -> None:
    bones = by_id(figure)
    for bone in figure.bones:
        if bone.parent is not None:
            assert bone.body.distance(bones[bone.parent].body) < 1e-9, bone.id


def test_the_bare_body_is_slimmer_than_the_figure(figure: Figure) -> None:
    body = shapely.union_all([bone.body for bone in figure.bones])
    assert 0.25 < body.area / figure.silhouette.area < 0.9


def test_regions_of_a_symmetric_figure_mirror_each_other(tmp_path: Path) -> None:
    bones = by_id(read(tmp_path, A_POSE))
    for name in [b[:-2] for b in bones if b.endswith("_l")]:
        mirrored = affine_transform(bones[f"{name}_r"].region, [-1, 0, 0, 1, 200, 0])
        left = bones[f"{name}_l"].region
        assert left.symmetric_difference(mirrored).area < 1e-3 * left.area


def test_air_between_arm_and_body_is_a_wall(tmp_path: Path) -> None:
    drawing = HEAD + NECK + TRUNK + LEGS + arms("122,42 130,44 130,110", 8)
    bones = by_id(read(tmp_path, drawing))
    trunk = bones["waist"].region.union(bones["torso"].region)
    arm = shapely.union_all([bones[b].region for b in ("forearm_l", "hand_l")])
    assert trunk.bounds[2] < 128
    assert arm.bounds[0] > 120


def test_a_region_of_a_plain_limb_is_one_patch(tmp_path: Path) -> None:
    for bone in read(tmp_path, T_POSE).bones:
        assert isinstance(bone.region, Polygon), bone.id
