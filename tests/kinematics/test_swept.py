"""A turning body sweeps what geometry says it must."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import box

from panelbeater.kinematics.chain import PARENTS, Skeleton, bodies_on_stage
from panelbeater.terms.pose import Pose


@pytest.mark.parametrize(("width", "height"), [(4.0, 3.0), (10.0, 1.0), (2.0, 2.0)])
def test_a_box_that_turns_about_its_middle_sweeps_a_disc_over_its_diagonal(
    width: float, height: float
) -> None:
    # Area pi (w^2 + h^2) / 4: the corners run on one circle (elementary geometry).
    n = len(PARENTS)
    rest = Pose(np.zeros(2), np.zeros(n), np.ones((n, 2)))
    body = box(-width / 2, -height / 2, width / 2, height / 2)
    skeleton = Skeleton(np.zeros((n, 2)), np.ones(n), rest, (body,) * n)
    turned = []
    for angle in np.linspace(0, np.pi, 721):
        turns = np.zeros(n)
        turns[0] = angle
        turned.append(bodies_on_stage(skeleton, Pose(rest.root, turns, rest.scales))[0])
    swept = shapely.union_all(turned)
    disc = np.pi * (width**2 + height**2) / 4
    assert swept.convex_hull.area == pytest.approx(disc, rel=1e-4)
    # Between two steps a right-angled corner leaves out a notch: half a step of the area.
    step = np.pi / 720
    assert (1 - step) * disc < swept.area < disc
