"""A rig turned round plays the same motion with its last frame first."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from panelbeater.rig import sample_rig, turned_round
from panelbeater.terms.rig import Rig
from panelbeater.terms.timing import FrameSpan, ShotOptions
from tests.yard import yard


def _there_and_back() -> tuple[Rig, Rig]:
    """A rig with a swap, a vanishing and a bend, and the same turned round."""
    rig = yard(48).rig
    tracks = list(rig.tracks)
    tracks[0] = replace(tracks[0], swap=20)
    tracks[1] = replace(tracks[1], vanish=30)
    tracks[2] = replace(tracks[2], bending=FrameSpan(10, 24))
    there = replace(rig, tracks=tuple(tracks))
    back = turned_round(there)
    return there, replace(back, shot=replace(rig.shot, reverse=True))


def test_every_frame_is_the_mirrored_frame_of_the_way_there() -> None:
    there, back = _there_and_back()
    times = np.arange(48, dtype=np.float64)
    one, other = sample_rig(there, times), sample_rig(back, times)
    assert other.stage_from_piece[::-1] == pytest.approx(one.stage_from_piece, abs=1e-9)
    assert other.stage_from_bone[::-1] == pytest.approx(one.stage_from_bone, abs=1e-9)
    assert np.array_equal(other.redrawn[::-1], one.redrawn)
    assert np.array_equal(other.visible[::-1], one.visible)
    assert one.redrawn.any()
    assert not one.visible.all()
    assert np.array_equal(back.depth[::-1], there.depth)


def test_turned_round_twice_is_the_rig_itself() -> None:
    there, back = _there_and_back()
    again = turned_round(back)
    for one, other in zip(there.tracks, again.tracks, strict=True):
        assert (one.start, one.end, one.swap, one.vanish, one.bending) == (
            other.start, other.end, other.swap, other.vanish, other.bending
        )  # fmt: skip
        assert np.allclose(one.key_u, other.key_u, atol=1e-15)
        assert np.array_equal(one.key_channels, other.key_channels)


def test_the_master_runs_from_one_to_zero_and_the_last_pose_is_held_longest() -> None:
    there, back = ShotOptions(), ShotOptions(reverse=True)
    assert [there.master(0), there.master(71)] == [0.0, 1.0]
    assert [back.master(0), back.master(71)] == [1.0, 0.0]
    assert min(there.last_hold, back.first_hold) >= 12
    assert min(there.first_hold, back.last_hold) >= 6
    assert [back.from_vehicle(back.from_vehicle(k)) for k in (0, 5)] == [0, 5]
