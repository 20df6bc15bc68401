"""A fold that hid is eased to where a body of another build hides."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from panelbeater.fold import FoldOptions, find_folds, settle_fold
from panelbeater.kinematics.chain import place_bones, skeleton_of
from panelbeater.terms.pose import Fold
from tests.figures import capsule_figure
from tests.fold.containers import NEEDLE, VAN, leak_by_hand

FIGURE, TALLER = capsule_figure(100), capsule_figure(104)
LEAK_MAX = 0.001  # the hard promise of the metrics


@cache
def before() -> Fold:
    quick = FoldOptions(n_starts=16, n_steps=160)
    rng = np.random.default_rng(1)
    return find_folds(VAN, FIGURE, rng=rng, n_folds=1, options=quick)[0]


def test_a_larger_body_hides_by_easing_the_fold_of_a_smaller() -> None:
    stiff = leak_by_hand(TALLER, before().pose, VAN)
    assert stiff > LEAK_MAX
    eased = settle_fold(VAN, TALLER, before())
    assert eased.leak == pytest.approx(leak_by_hand(TALLER, eased.pose, VAN), abs=1e-9)
    assert eased.leak <= LEAK_MAX
    assert eased.shortest == eased.pose.scales[:, 0].min()


def test_the_same_body_stays_about_where_it_lay() -> None:
    eased = settle_fold(VAN, FIGURE, before())
    assert eased.leak <= LEAK_MAX
    joints = [place_bones(skeleton_of(FIGURE), f.pose)[0] for f in (before(), eased)]
    assert np.abs(joints[1] - joints[0]).max() < 5.0  # a twentieth of the height


def test_a_body_that_cannot_hide_so_is_told_by_its_leak() -> None:
    eased = settle_fold(NEEDLE, FIGURE, before())
    assert eased.leak == pytest.approx(leak_by_hand(FIGURE, eased.pose, NEEDLE), abs=1e-9)
    assert eased.leak > LEAK_MAX
