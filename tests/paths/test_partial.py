"""When only a limb opens, the rest of the vehicle stays as it is and nothing hangs in the
air.
"""

from __future__ import annotations

import pytest
import shapely

from panelbeater.geometry.frames import from_channels, map_shape, moved
from panelbeater.kinematics.chain import bodies_on_stage
from panelbeater.paths import find_rides, frame_width, keep_shut
from panelbeater.paths.options import PathOptions
from panelbeater.paths.support import floating_groups
from panelbeater.terms.figure import BONE_IDS, BONE_TREE
from panelbeater.terms.timing import ShotOptions
from panelbeater.unfold import open_limbs
from tests.yard import GROUND, yard

ONLY = ("arm_l",)


def test_pieces_of_shut_limbs_stand_where_they_are_drawn_in_every_frame() -> None:
    shot = yard(48)
    options = ShotOptions(n_frames=48, only=ONLY)
    action = open_limbs(
        shot.skeleton, shot.fold, shot.drawing, shot.assignment, ground=GROUND, shot=options
    )
    layout = keep_shut(
        shot.drawing, shot.skeleton, shot.fold, shot.assignment, ONLY,
        height=shot.figure.height,
    )  # fmt: skip
    width = frame_width(shot.drawing.silhouette, shot.figure.silhouette)
    rides = find_rides(shot.drawing, shot.skeleton, action, layout, width=width)
    places = rides.frames[:, rides.bones] @ from_channels(rides.last)
    shut = 0
    for i, (piece, cover) in enumerate(
        zip(shot.drawing.pieces, layout.covers, strict=True)
    ):
        if BONE_TREE[BONE_IDS.index(cover.region)][2] in ONLY:
            continue
        shut += 1
        centre = piece.outline.centroid
        for frame in (0, 24, 47):
            shown = map_shape(places[frame, i] @ moved(-centre.x, -centre.y), piece.outline)
            assert shapely.hausdorff_distance(shown, piece.outline) < 1e-9
    assert 0 < shut < len(layout.covers)


@pytest.mark.parametrize("only", [("arm_l",), ("arm_r", "head"), ("leg_l",)])
def test_what_others_hang_on_stays_with_them(only: tuple[str, ...]) -> None:
    shot = yard(48)
    layout = keep_shut(
        shot.drawing, shot.skeleton, shot.fold, shot.assignment, only,
        height=shot.figure.height,
    )  # fmt: skip
    limb_of = {name: limb for name, _, limb in BONE_TREE}
    stays = [
        piece.outline
        for piece, cover in zip(shot.drawing.pieces, layout.covers, strict=True)
        if limb_of[cover.region] not in only
    ]
    bodies = bodies_on_stage(shot.skeleton, shot.fold.pose)
    shut = [
        b for name, b in zip(BONE_IDS, bodies, strict=True) if limb_of[name] not in only
    ]
    assert floating_groups(stays, shut, shot.figure.height, PathOptions()) == []
