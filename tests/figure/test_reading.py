"""What of a figure drawing is silhouette, bone, region or shadow, and what is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from panelbeater.errors import DrawingError
from panelbeater.figure import read_figure
from panelbeater.figure.names import bone_named
from panelbeater.terms.figure import BONE_IDS
from tests.figure.people import A_POSE, HEAD, LEGS, NECK, TRUNK, by_id, is_same, read, write

SHADOW = '<ellipse cx="100" cy="197" rx="45" ry="5" fill="#222" fill-opacity=".3"/>'


def test_a_drop_shadow_is_left_out(tmp_path: Path) -> None:
    with_shadow, without = read(tmp_path, SHADOW + A_POSE), read(tmp_path, A_POSE)
    # Curves are drawn finer or coarser with the size of the page.
    assert is_same(with_shadow.silhouette, without.silhouette, within=0.003)
    assert "shadow" in with_shadow.warnings[0]


def test_a_shape_called_shadow_is_left_out_wherever_it_lies(tmp_path: Path) -> None:
    named = '<rect id="drop-shadow" x="20" y="150" width="160" height="40"/>'
    with_shadow, without = read(tmp_path, named + A_POSE), read(tmp_path, A_POSE)
    assert is_same(with_shadow.silhouette, without.silhouette, within=0.003)


def test_dark_shoes_are_no_shadow(tmp_path: Path) -> None:
    shoes = "".join(
        f'<ellipse cx="{x}" cy="195" rx="12" ry="4" fill="#111"/>' for x in (88, 112)
    )
    assert read(tmp_path, shoes + A_POSE).silhouette.bounds[3] == pytest.approx(
        199, abs=0.1
    )


def test_a_backdrop_is_left_out(tmp_path: Path) -> None:
    page = '<rect width="200" height="200" fill="#eef"/>'
    figure = read(tmp_path, page + A_POSE)
    assert is_same(figure.silhouette, read(tmp_path, A_POSE).silhouette, within=0.003)
    assert "backdrop" in figure.warnings[0]


@pytest.mark.parametrize("hide", ["", ' display="none"', ' style="visibility:hidden"'])
def test_drawn_bones_are_used_as_they_are(tmp_path: Path, hide: str) -> None:
    lines = (
        '<line id="bone_upper_arm_l" x1="120" y1="45" x2="136" y2="80" stroke="red"/>'
        '<path id="left shin" d="M109 190L110 150" stroke="red" fill="none"/>'
    )
    plain = read(tmp_path, A_POSE)
    figure = read(tmp_path, f'{A_POSE}<g id="bones"{hide}>{lines}</g>')
    bones = by_id(figure)
    np.testing.assert_allclose(bones["upper_arm_l"].start, [120, 45], atol=1e-3)
    np.testing.assert_allclose(bones["upper_arm_l"].end, [136, 80], atol=1e-3)
    np.testing.assert_allclose(bones["forearm_l"].start, [136, 80], atol=1e-3)
    # Drawn from the ankle up; turned about so that it hangs on the knee.
    np.testing.assert_allclose(bones["shank_l"].start, [110, 150], atol=1e-3)
    np.testing.assert_allclose(bones["thigh_l"].end, [110, 150], atol=1e-3)
    np.testing.assert_allclose(bones["foot_l"].start, [109, 190], atol=1e-3)
    assert is_same(figure.silhouette, plain.silhouette)
    np.testing.assert_allclose(bones["hand_r"].end, by_id(plain)["hand_r"].end)


def mannequin() -> dict[str, str]:
    """Fifteen named blocks, far to near; the torso overlaps the waist."""
    blocks = {
        "waist": (84, 88, 116, 110), "torso": (78, 40, 122, 95), "head": (88, 5, 112, 38),
    }  # fmt: skip
    left = {
        "upper_arm": (124, 42, 136, 76), "forearm": (124, 77, 136, 104),
        "hand": (124, 105, 136, 120), "thigh": (101, 111, 115, 150),
        "shank": (101, 151, 115, 186), "foot": (101, 187, 118, 197),
    }  # fmt: skip
    for name, (x0, y0, x1, y1) in left.items():
        blocks[f"{name}_l"] = (x0, y0, x1, y1)
        blocks[f"{name}_r"] = (200 - x1, y0, 200 - x0, y1)
    return {
        name: f'<rect x="{x0}" y="{y0}" width="{x1 - x0}" height="{y1 - y0}"/>'
        for name, (x0, y0, x1, y1) in blocks.items()
    }


def test_shapes_named_like_regions_are_the_regions(tmp_path: Path) -> None:
    drawing = "".join(f'<g id="{name}">{shape}</g>' for name, shape in mannequin().items())
    figure = read(tmp_path, drawing)
    bones = by_id(figure)
    assert is_same(bones["shank_l"].region, shapely.box(101, 151, 115, 186))
    assert is_same(bones["torso"].region, shapely.box(78, 40, 122, 95))
    assert is_same(bones["waist"].region, shapely.box(84, 95, 116, 110))
    np.testing.assert_allclose(bones["forearm_l"].start, [130, 76.5], atol=0.6)
    total = sum(bone.region.area for bone in figure.bones)
    assert total == pytest.approx(figure.silhouette.area, rel=1e-6)


def test_an_unnamed_badge_belongs_to_the_region_it_lies_on(tmp_path: Path) -> None:
    drawing = "".join(f'<g id="{name}">{shape}</g>' for name, shape in mannequin().items())
    badge = '<rect x="118" y="50" width="8" height="8"/>'
    figure = read(tmp_path, drawing + badge)
    owners = {
        b.id
        for b in figure.bones
        if b.region.intersection(shapely.box(122, 50, 124, 58)).area > 0
    }
    assert owners == {"torso", "upper_arm_l"}
    assert sum(b.region.area for b in figure.bones) == pytest.approx(figure.silhouette.area)


def test_common_words_name_regions_too(tmp_path: Path) -> None:
    words = {"waist": "Hips", "torso": "chest", "shank_l": "left shin", "shank_r": "calf.R"}
    drawing = "".join(
        f'<g id="{words.get(name, name)}">{shape}</g>'
        for name, shape in mannequin().items()
    )
    bones = by_id(read(tmp_path, drawing))
    assert is_same(bones["shank_r"].region, shapely.box(85, 151, 99, 186))


def test_a_named_arm_without_parts_gets_forearm_and_hand(tmp_path: Path) -> None:
    arm = '<path id="left arm" d="M119 40H131L150 108L140 112Z"/>'
    figure = read(tmp_path, HEAD + NECK + TRUNK + LEGS + arm)
    bones = by_id(figure)
    drawn = shapely.Polygon([(119, 40), (131, 40), (150, 108), (140, 112)])
    parts = [bones[f"{n}_l"].region for n in ("upper_arm", "forearm", "hand")]
    assert shapely.union_all(parts).symmetric_difference(drawn).area < 0.02 * drawn.area
    assert min(part.area for part in parts) > 0.08 * drawn.area


@pytest.mark.parametrize(
    ("text", "bone"),
    [
        ("bone_upper_arm_l", "upper_arm_l"), ("Left Upper Arm", "upper_arm_l"),
        ("LeftForeArm", "forearm_l"), ("calf.R", "shank_r"), ("right-shin", "shank_r"),
        ("spine", "torso"), ("pelvis", "waist"), ("Hips", "waist"), ("boot_l", "foot_l"),
        ("thigh", None), ("head_l", None), ("left_right_hand", None), ("wheel", None),
        ("", None),
    ],
)  # fmt: skip
def test_words_on_bones_are_understood(text: str, bone: str | None) -> None:
    assert bone_named(text) == bone


@pytest.mark.parametrize("bone", BONE_IDS)
def test_every_bone_id_names_itself(bone: str) -> None:
    assert bone_named(bone) == bone == bone_named(f"bone_{bone}")


@pytest.mark.parametrize(
    ("inside", "complaint"),
    [
        ("", "no filled shape"),
        ('<g id="bones"><line id="head" x1="1" y1="1" x2="1" y2="9" stroke="red"/></g>',
         "no filled shape"),
        ('<rect width="9" height="9" display="none"/>', "no filled shape"),
        ('<rect width="180" height="4"/>', "wide"),
        ('<rect width="0.5" height="180"/>', "too thin"),
    ],
)  # fmt: skip
def test_a_drawing_without_a_standing_figure_is_refused_in_one_line(
    tmp_path: Path, inside: str, complaint: str
) -> None:
    with pytest.raises(DrawingError, match=complaint) as caught:
        read(tmp_path, inside)
    assert str(caught.value).startswith("figure.svg: ")
    assert "\n" not in str(caught.value)


def test_an_empty_file_is_refused_by_name(tmp_path: Path) -> None:
    path = write(tmp_path, "")
    path.write_bytes(b"")
    with pytest.raises(DrawingError, match=r"figure\.svg"):
        read_figure(path)


@pytest.mark.parametrize(
    "inside",
    [
        '<rect x="50" width="100" height="200"/>',
        '<circle cx="100" cy="100" r="90"/>',
        '<path d="M100 0L160 200H40Z"/>',
        '<rect x="97" width="6" height="200"/>',
        '<path d="M0 90H200V110H0ZM90 0H110V200H90Z"/>',
        '<circle cx="100" cy="30" r="8"/><circle cx="100" cy="180" r="8"/>',
        '<path d="M0 0L200 200L100 10L0 200L200 0Z"/>',
        '<rect y="60" width="200" height="90"/>',
    ],
)
def test_any_blot_with_area_gets_fifteen_regions(tmp_path: Path, inside: str) -> None:
    figure = read(tmp_path, inside)
    assert sum(b.region.area for b in figure.bones) == pytest.approx(figure.silhouette.area)
    assert all(
        b.region.area > 0 and np.isfinite([b.start, b.end]).all() for b in figure.bones
    )
