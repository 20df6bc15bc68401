"""Where the pieces and bones of the small rig stand."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from shapely.affinity import translate

from panelbeater.geometry.stage import (
    all_bone_outlines,
    all_piece_outlines,
    bone_outlines,
    piece_outlines,
    piece_scales,
    piece_transforms,
)
from tests.exports.small_rig import COVERED, small_rig


def test_at_frame_0_every_piece_is_where_it_was_drawn() -> None:
    rig, sample = small_rig()
    assert np.abs(piece_transforms(rig, sample)[0] - np.eye(3)).max() < 1e-12
    for piece, outline in zip(
        rig.drawing.pieces, piece_outlines(rig, sample, 0), strict=True
    ):
        assert piece.outline.symmetric_difference(outline).area < 1e-9


def test_at_the_last_frame_a_piece_has_its_middle_and_scale_where_the_cover_says() -> None:
    rig, sample = small_rig()
    for i, outline in enumerate(piece_outlines(rig, sample, -1)):
        _, at, _, scale = COVERED[rig.drawing.pieces[i].id]
        assert (outline.centroid.x, outline.centroid.y) == pytest.approx(at, abs=1e-9)
        assert outline.area == pytest.approx(rig.drawing.pieces[i].outline.area * scale**2)
        assert piece_scales(sample)[-1, i] == pytest.approx(scale)


def test_the_standing_body_is_the_figure_as_drawn() -> None:
    rig, sample = small_rig()
    for bone, outline in zip(rig.figure.bones, bone_outlines(rig, sample, -1), strict=True):
        assert bone.body.symmetric_difference(outline).area < 1e-9


def test_foreshortening_shortens_a_bone_from_its_joint() -> None:
    rig, sample = small_rig()
    sample.bone_scales[-1, :, 0] = 0.5
    whole = rig.figure.bones[1].body  # the torso stands on end: length is height
    short = bone_outlines(rig, sample, -1)[1]
    joint = rig.figure.bones[1].start[1]
    assert joint - short.bounds[1] == pytest.approx((joint - whole.bounds[1]) / 2)
    assert short.bounds[2] - short.bounds[0] == pytest.approx(
        whole.bounds[2] - whole.bounds[0]
    )


def test_moving_the_placements_moves_the_outlines_with_them() -> None:
    rig, sample = small_rig()
    before = piece_outlines(rig, sample, 9)[3]
    sample.stage_from_piece[9, 3, :2, 2] += (4.0, -7.0)
    after = piece_outlines(rig, sample, 9)[3]
    assert after.symmetric_difference(translate(before, 4, -7)).area < 1e-9


def test_all_moments_at_once_are_each_moment_and_what_stands_still_is_one_object() -> None:
    rig, sample = small_rig()
    drawn, bare = all_piece_outlines(rig, sample), all_bone_outlines(rig, sample)
    for row in range(len(drawn)):
        assert drawn[row].tolist() == piece_outlines(rig, sample, row)
        assert bare[row].tolist() == bone_outlines(rig, sample, row)
    stood = (sample.stage_from_piece[1:] == sample.stage_from_piece[:-1]).all(axis=(2, 3))
    assert stood.any()
    assert not stood.all()
    same = [[a is b for a, b in zip(*rows, strict=True)] for rows in pairwise(drawn)]
    assert (np.array(same) == stood).all()
