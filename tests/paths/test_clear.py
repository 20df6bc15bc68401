"""What a piece was asked to go round it does not pass over, in a whole shot."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
import shapely.affinity

from panelbeater.geometry.stage import all_piece_outlines, bone_outlines
from panelbeater.paths import PathOptions
from panelbeater.paths.clear import bones_of, way_off
from panelbeater.paths.crowd import PARTS
from panelbeater.paths.support import floating_groups
from panelbeater.rig import sample_rig
from panelbeater.terms.arrays import Floats
from panelbeater.terms.figure import BONE_IDS
from tests.paths.led import disc
from tests.yard import Yard, yard, yard_shot


def _asked(**clear: tuple[str, ...]) -> Yard:
    plain = yard()
    asked = replace(plain.assignment.asked, clear=clear)
    assignment = replace(plain.assignment, asked=asked)
    return yard_shot(plain.drawing, assignment, plain.rig.shot.n_frames)


def _shared(shot: Yard, one: str, other: str) -> Floats:
    """(n_moments,), area that two pieces share at every eighth of a frame."""
    names = [piece.id for piece in shot.drawing.pieces]
    times = np.arange(PARTS * (shot.rig.shot.n_frames - 1) + 1) / PARTS
    shapes = all_piece_outlines(shot.rig, sample_rig(shot.rig, times))
    i, j = names.index(one), names.index(other)
    out: Floats = shapely.area(shapely.intersection(shapes[:, i], shapes[:, j]))
    return out


@pytest.mark.slow
def test_a_plate_goes_round_the_cab_and_holds_on_to_the_body() -> None:
    shot, least = _asked(plate_20=("cab",)), 1e-6 * yard().figure.height ** 2
    assert _shared(yard(), "plate_20", "cab").max() > 1000 * least
    assert _shared(shot, "plate_20", "cab").max() < least
    outlines = all_piece_outlines(shot.rig, shot.sample)
    for frame, shapes in enumerate(outlines):
        bodies = bone_outlines(shot.rig, shot.sample, frame)
        assert not floating_groups(
            shapes.tolist(), bodies, shot.figure.height, PathOptions()
        )


@pytest.mark.slow
def test_without_a_wish_nothing_changes_and_with_one_both_ends_stay() -> None:
    plain, none, shot = yard(), _asked(), _asked(plate_20=("cab",))
    placed = [s.sample.stage_from_piece for s in (plain, none, shot)]
    assert np.array_equal(placed[0], placed[1])
    assert not np.array_equal(placed[0], placed[2])
    for end in (0, -1):
        assert placed[2][end] == pytest.approx(placed[0][end], abs=1e-9)


def test_a_limb_is_its_bones_and_a_region_is_one() -> None:
    arm = [BONE_IDS[bone] for bone in bones_of("arm_l")]
    assert arm == ["upper_arm_l", "forearm_l", "hand_l"]
    assert [BONE_IDS[bone] for bone in bones_of("hand_l")] == ["hand_l"]


def test_parting_takes_one_off_the_other_by_the_short_way() -> None:
    one, other = shapely.box(0, 0, 10, 10), shapely.box(8, -20, 30, 30)
    assert way_off(one, other, 0.5, 1e-6) == pytest.approx([-2.5, 0])
    assert way_off(other, one, 0.5, 1e-6) == pytest.approx([2.5, 0])
    assert not way_off(one, shapely.box(10, 0, 20, 10), 0.5, 1e-6).any()
    round_one = shapely.affinity.translate(disc(5), 14, 5)
    move = way_off(one, round_one, 0.0, 1e-6)
    assert shapely.affinity.translate(one, *move).intersection(round_one).area < 1e-6
