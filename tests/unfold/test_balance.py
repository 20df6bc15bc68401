"""The weight stays over the feet from the moment both stand."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from panelbeater.kinematics.chain import bodies_on_stage
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Fold, Pose
from panelbeater.terms.timing import ShotOptions
from panelbeater.unfold import UnfoldOptions, unfold_body
from panelbeater.unfold.balance import centre_of_mass, support, tipping
from tests.yard import GROUND, yard


def _row(pose: Pose, frame: int) -> Pose:
    return Pose(pose.root[frame], pose.turns[frame], pose.scales[frame])


def test_the_centre_of_mass_is_that_of_the_drawn_bodies_when_nothing_is_foreshortened() -> (
    None
):
    shot = yard(48)
    rest = shot.skeleton.rest
    bodies = bodies_on_stage(shot.skeleton, rest)
    weights = shapely.area(bodies)
    centres = shapely.get_coordinates(shapely.centroid(bodies))
    by_hand = (centres * weights[:, None]).sum(axis=0) / weights.sum()
    still = Pose(rest.root[None], rest.turns[None], rest.scales[None])
    assert centre_of_mass(shot.skeleton, still)[0] == pytest.approx(by_hand)


def test_a_standing_figure_is_balanced_and_a_shifted_one_tips_by_what_it_is_off() -> None:
    shot = yard(48)
    rest, (left, right) = shot.skeleton.rest, support(shot.skeleton)
    offsets = np.array([0.0, 60.0, -60.0])
    roots = rest.root + np.stack([offsets, np.zeros(3)], axis=-1)
    pose = Pose(roots, np.tile(rest.turns, (3, 1)), np.tile(rest.scales, (3, 1, 1)))
    x = centre_of_mass(shot.skeleton, pose)[:, 0]
    tips = tipping(shot.skeleton, pose)
    assert tips[0] == 0
    assert tips[1] == pytest.approx(x[1] - right)
    assert tips[2] == pytest.approx(x[2] - left)


@pytest.mark.parametrize("side", [-1.0, 1.0])
def test_a_body_that_leans_far_out_is_kept_over_its_feet_once_both_stand(
    side: float,
) -> None:
    # A fold far to one side with the trunk laid out level: its weight lies beyond the feet.
    shot = yard(72)
    rest = shot.skeleton.rest
    turns = rest.turns.copy()
    turns[BONE_IDS.index("waist")] += side * 1.4
    fold = Pose(rest.root + np.array([side * 25.0, 0.0]), turns, rest.scales)
    options, moving = UnfoldOptions(), ShotOptions(n_frames=72).moving
    action = unfold_body(
        shot.skeleton, Fold(fold, 0.0, 1.0, 1.0), height=shot.figure.height, ground=GROUND,
        shot=ShotOptions(n_frames=72), options=options,
    )  # fmt: skip
    planted = max(options.windows[f"step_{s}"][1] for s in "lr")
    first = int(np.ceil(moving.start + planted * (moving.stop - moving.start)))
    tips = np.abs(tipping(shot.skeleton, action.pose))
    assert tips[: moving.start].max() > 0.05 * shot.figure.height  # there was work to do
    assert tips[first:].max() < 0.002 * shot.figure.height
