"""A slice of the planted containers: each was made from a fold, so a fold exists."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks.folds import LEAK_MAX, figure_named, planted_container, solve
from panelbeater.kinematics.chain import place_bones, skeleton_of
from tests.fold.containers import leak_by_hand

FILL = 0.925


@pytest.mark.slow
def test_a_body_hides_in_three_ways_in_a_container_it_nearly_fills() -> None:
    figure = figure_named("rigger")
    folds, container, _ = solve(figure, 2, FILL)
    assert len(folds) >= 3
    for fold in folds:
        assert leak_by_hand(figure, fold.pose, container) <= LEAK_MAX
    joints = [place_bones(skeleton_of(figure), fold.pose)[0] for fold in folds]
    for i, one in enumerate(joints):
        for other in joints[:i]:
            assert np.hypot(*(one - other).T).max() >= 0.1 * figure.height


def test_a_planted_container_is_filled_as_much_as_it_says() -> None:
    figure = figure_named("rigger")
    container = planted_container(figure, 2, FILL)
    looser = planted_container(figure, 2, 0.8)
    assert looser.covers(container)
    # The body it was made from has the area of the container times the fill.
    assert container.area * FILL == pytest.approx(looser.area * 0.8, rel=1e-6)
