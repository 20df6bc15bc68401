"""When a change of size goes unnoticed, and that changes keep to it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from panelbeater.paths.gate import GateOptions, frame_width, open_gates
from panelbeater.paths.sizes import HIDDEN_CHANGE, hidden_progress
from panelbeater.terms.arrays import Flags, Floats, Points

WIDTH, FRAMES = 1920.0, 13


def _gates(speeds: Floats, areas: Floats | None = None, apart: float = 50.0) -> Flags:
    """Pieces side by side that all go straight up, each at its own speed."""
    n = len(speeds)
    centres: Points = np.zeros((FRAMES, n, 2))
    centres[..., 0] = apart * np.arange(n)
    centres[..., 1] = -np.arange(FRAMES)[:, None] * speeds
    areas = np.ones(n) if areas is None else areas
    bones = np.arange(n)
    return open_gates(
        centres, np.zeros((FRAMES - 1, n, 2)), bones, np.tile(areas, (FRAMES - 1, 1)),
        WIDTH, GateOptions(),
    )  # fmt: skip


def test_four_fast_pieces_hide_all_but_the_one_the_eye_follows() -> None:
    # Thirty pixels a frame of 1920 is fast enough, twenty is not: metrics.md.
    gates = _gates(np.full(4, 30.0), np.array([1.0, 5.0, 1.0, 1.0]))
    assert gates.all(axis=0).tolist() == [True, False, True, True]
    assert not _gates(np.full(4, 20.0)).any()


def test_a_gate_needs_two_neighbours_that_are_near_and_go_along() -> None:
    assert not _gates(np.array([30.0, 30.0])).any()
    assert not _gates(np.full(4, 30.0), apart=700.0).any()
    alone = _gates(np.array([30.0, 60.0, 60.0, 60.0]))
    assert not alone[:, 0].any()


def test_pieces_that_keep_still_on_one_turning_bone_go_along() -> None:
    angle = 0.08 * np.arange(FRAMES)
    arms = np.array([400.0, 500.0, 600.0, 700.0])
    centres = np.stack([np.cos(angle), np.sin(angle)], -1)[:, None] * arms[:, None]
    gates = open_gates(
        centres, np.diff(centres, axis=0), np.zeros(4, int),
        np.ones((FRAMES - 1, 4)), WIDTH, GateOptions(),
    )  # fmt: skip
    assert gates[:, :3].all()


def test_the_frame_is_sixteen_to_nine_around_both_drawings() -> None:
    assert frame_width(box(0, 0, 400, 10), box(50, 0, 60, 20)) == pytest.approx(480)
    assert frame_width(box(0, 0, 10, 90), box(0, -10, 10, 50)) == pytest.approx(
        1.2 * 100 * 16 / 9
    )


@given(st.floats(0.0, 2.0), st.integers(0, 10), st.integers(1, 12))
def test_a_change_is_hidden_as_far_as_open_frames_reach(
    change: float, first: int, length: int
) -> None:
    n = 30
    gates = np.zeros((n, 1), dtype=bool)
    gates[first : first + length] = True
    moves = np.ones((n, 1), dtype=bool)
    speeds = np.exp(-0.5 * ((np.arange(n) - 20) / 4.0) ** 2)[:, None]
    share = hidden_progress(np.array([change]), gates, speeds, moves)[:, 0]
    assert share[0] == 0
    assert share[-1] == 1
    assert np.all(np.diff(share) >= 0)
    seen = change * np.diff(share)[~gates[:, 0]].sum()
    room = HIDDEN_CHANGE * length
    assert seen == pytest.approx(max(0.0, change - room), abs=1e-9)
    if change <= room:
        assert change * np.diff(share).max() <= HIDDEN_CHANGE + 1e-9


def test_a_change_swells_and_ebbs() -> None:
    gates = np.zeros((20, 1), dtype=bool)
    gates[5:12] = True
    share = hidden_progress(np.array([0.2]), gates, gates * 0.02, gates)[:, 0]
    rate = np.diff(share)[5:12]
    assert rate == pytest.approx(rate[::-1])
    assert np.all(np.diff(rate[:4]) > 0)
