"""The fold hides in invented containers, by exact area, or says what leaks."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from panelbeater.effort import Effort
from panelbeater.errors import NoFoldError
from panelbeater.fold import FoldOptions, body_leak, find_folds
from panelbeater.kinematics.chain import place_bones, skeleton_of
from panelbeater.kinematics.limits import turn_limits
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Fold, Pose
from tests.figures import capsule_figure
from tests.fold.containers import CONTAINERS, LORRY, NEEDLE, OPEN_BOX, leak_by_hand

FIGURE = capsule_figure(100)
SKELETON = skeleton_of(FIGURE)
QUICK = FoldOptions(n_starts=16, n_steps=160)
LEAK_MAX = 0.001  # the hard promise of the metrics


@cache
def _folds(container: str) -> tuple[Fold, ...]:
    rng = np.random.default_rng(1)
    return find_folds(CONTAINERS[container], FIGURE, rng=rng, n_folds=3, options=QUICK)


@pytest.mark.parametrize("container", CONTAINERS)
def test_no_fold_leaks_more_than_promised(container: str) -> None:
    for fold in _folds(container):
        leak = leak_by_hand(FIGURE, fold.pose, CONTAINERS[container])
        assert leak <= LEAK_MAX
        assert fold.leak == pytest.approx(leak, abs=1e-9)


@pytest.mark.parametrize("container", CONTAINERS)
def test_every_joint_stays_within_its_limits(container: str) -> None:
    for fold in _folds(container):
        bent = np.abs(fold.pose.turns - SKELETON.rest.turns)
        assert np.all(bent <= turn_limits() + 1e-9)
        assert fold.shortest == fold.pose.scales[:, 0].min() >= QUICK.length_min
        assert fold.thinnest == fold.pose.scales[:, 1].min() >= QUICK.width_min


def test_a_thin_slab_makes_the_body_thin() -> None:
    # The shoulders are 32 wide and the slab 20: only foreshortening across can do it.
    assert all(fold.thinnest < 20 / 32 for fold in _folds("thin slab"))


def test_a_roomy_box_asks_for_hardly_any_foreshortening() -> None:
    assert max(fold.shortest for fold in _folds("open box")) > 0.95


def test_a_body_that_hides_only_by_strong_foreshortening_hides() -> None:
    options = replace(QUICK, n_rounds=3)
    with pytest.raises(NoFoldError):  # as long as a shorter limb costs as much as ever
        find_folds(LORRY, FIGURE, rng=np.random.default_rng(1), n_folds=1,
                   options=replace(options, relief=1.0), patience=0)  # fmt: skip
    rng = np.random.default_rng(1)
    fold = find_folds(LORRY, FIGURE, rng=rng, n_folds=1, options=options)[0]
    assert leak_by_hand(FIGURE, fold.pose, LORRY) <= LEAK_MAX
    assert fold.shortest < 0.65


@pytest.mark.slow
def test_patience_finds_folds_where_too_few_hide() -> None:
    options = replace(QUICK, n_starts=8, n_rounds=0, n_more_rounds=2)
    hasty, patient = (
        find_folds(LORRY, FIGURE, rng=np.random.default_rng(1), options=options,
                   patience=patience)
        for patience in (0, 6)
    )  # fmt: skip
    assert len(hasty) < options.enough <= len(patient)
    for fold in patient:
        assert leak_by_hand(FIGURE, fold.pose, LORRY) <= LEAK_MAX


@pytest.mark.parametrize("container", CONTAINERS)
def test_folds_of_one_vehicle_differ(container: str) -> None:
    joints = [place_bones(SKELETON, fold.pose)[0] for fold in _folds(container)]
    assert len(joints) >= 2
    for i, one in enumerate(joints):
        for other in joints[:i]:
            assert np.hypot(*(one - other).T).max() >= 0.1 * FIGURE.height


def test_the_same_seed_gives_the_same_folds_and_another_seed_others() -> None:
    options = FoldOptions(n_starts=8, n_steps=80)
    found = [
        find_folds(
            OPEN_BOX, FIGURE, rng=np.random.default_rng(seed), n_folds=2, options=options
        )
        for seed in (4, 4, 5)
    ]
    once, again, other = ([fold.pose.turns.tobytes() for fold in folds] for folds in found)
    assert once == again
    assert once != other


def test_a_search_that_is_stopped_throws_no_more_limbs_and_still_hides() -> None:
    effort = Effort()
    effort.stop.set()
    stopped, plain = (
        find_folds(OPEN_BOX, FIGURE, rng=np.random.default_rng(2), n_folds=2,
                   options=options, effort=effort)
        for options in (QUICK, replace(QUICK, n_rounds=0, n_more_rounds=0))
    )  # fmt: skip
    assert [f.pose.turns.tobytes() for f in stopped] == [
        f.pose.turns.tobytes() for f in plain
    ]
    assert max(leak_by_hand(FIGURE, f.pose, OPEN_BOX) for f in stopped) <= LEAK_MAX


def test_a_body_in_a_needle_is_refused_and_the_limbs_that_leak_are_named() -> None:
    with pytest.raises(NoFoldError) as caught:
        find_folds(NEEDLE, FIGURE, rng=np.random.default_rng(1),
                   options=FoldOptions(n_starts=6, n_steps=40))  # fmt: skip
    message = str(caught.value)
    assert caught.value.exit_status == 3
    assert "leaks" in message
    assert any(bone in message for bone in BONE_IDS)
    assert "smaller" in message
    assert "\n" not in message
    named = [bone for bone in BONE_IDS if f"{bone} " in message]
    assert sorted(caught.value.showing) == sorted(named)
    for shape in caught.value.showing.values():
        assert shape.intersection(NEEDLE).area < 1e-6 * shape.area


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
def test_moving_the_stage_leaves_the_leak(dx: float, dy: float) -> None:
    pose = _folds("van")[0].pose
    rest = SKELETON.rest
    # Half out of the door, so that there is a leak to keep.
    out = Pose(pose.root + np.array([50.0, 0.0]), pose.turns, pose.scales)
    elsewhere = Pose(out.root + np.array([dx, dy]), out.turns, out.scales)
    here = body_leak(SKELETON, out, CONTAINERS["van"])
    there = body_leak(SKELETON, elsewhere, affinity.translate(CONTAINERS["van"], dx, dy))
    assert 0.05 < here < 1
    assert there == pytest.approx(here, abs=1e-9)
    assert body_leak(SKELETON, rest, CONTAINERS["van"]) > here
