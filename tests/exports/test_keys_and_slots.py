"""Sparse keys stray no farther than they may; slots find every order."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panelbeater.exports.channels import join, sparse_keys, split
from panelbeater.exports.keys import telling_frames
from panelbeater.exports.slots import stack_slots
from panelbeater.geometry.frames import apply, rigid
from panelbeater.terms.arrays import Affines
from tests.exports.small_rig import small_rig


def turning(n_frames: int, angle: float) -> Affines:
    angles = np.linspace(0, angle, n_frames)
    return rigid(np.stack([angles * 3, angles * 0], -1), angles)


def test_splitting_and_joining_gives_the_same_transforms() -> None:
    rng = np.random.default_rng(5)
    transforms = np.tile(np.eye(3), (40, 1, 1))
    transforms[:, :2, :] += rng.uniform(-0.7, 0.7, (40, 2, 3))
    assert join(split(transforms)) == pytest.approx(transforms, abs=1e-12)


def test_an_even_turn_through_two_circles_needs_only_its_ends() -> None:
    points = np.array([[10.0, 0.0], [0.0, 4.0]])
    assert sparse_keys(turning(60, 4 * np.pi), points, 1e-6) == [0, 59]


def test_between_sparse_keys_no_corner_strays() -> None:
    _, sample = small_rig(48)
    points = np.array([[-20.0, -20.0], [20.0, -20.0], [20.0, 20.0]])
    for piece in range(8):
        transforms = sample.stage_from_piece[:, piece]
        keys = sparse_keys(transforms, points, 0.1)
        channels = split(transforms)
        filled = np.stack(
            [np.interp(np.arange(48), keys, channels[keys, k]) for k in range(6)], axis=-1
        )
        stray = np.linalg.norm(
            apply(join(filled), points) - apply(transforms, points), axis=-1
        )
        assert stray.max() <= 0.1
        assert not {1, 2, 3, 44, 45, 46} & set(keys)  # holds cost nothing


def test_an_order_that_never_changes_needs_no_copies() -> None:
    slots = stack_slots(np.tile([2, 0, 1], (9, 1)))
    assert [slot.piece for slot in slots] == [1, 2, 0]
    assert all(slot.is_always for slot in slots)


@settings(max_examples=25, derandomize=True, deadline=None)
@given(st.lists(st.permutations(range(5)), min_size=1, max_size=6))
def test_what_is_shown_in_a_frame_is_its_order(depths: list[list[int]]) -> None:
    depth = np.array(depths)
    slots = stack_slots(depth)
    for frame, row in enumerate(depth):
        shown = [slot.piece for slot in slots if slot.shown[frame]]
        assert shown == np.argsort(row).tolist()


def test_telling_frames_start_and_end_the_shot_and_never_repeat() -> None:
    rig, sample = small_rig()
    frames = telling_frames(rig, sample, 9)
    assert (frames[0], frames[-1], len(set(frames))) == (0, 23, 9)
    assert frames == sorted(frames)


def test_a_shot_that_never_moves_still_spreads_its_keys() -> None:
    rig, sample = small_rig()
    sample.stage_from_piece[:] = sample.stage_from_piece[0]
    frames = telling_frames(rig, sample, 9)
    assert max(np.diff(frames)) <= 4
