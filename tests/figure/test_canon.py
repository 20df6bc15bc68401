"""The measured body, against the table it is taken from."""

from __future__ import annotations

import pytest

from panelbeater.figure import canon

# Drillis & Contini (1966) as drawn in Winter, Biomechanics and Motor Control of Human
# Movement: shares of the standing height. Heights are measured from the floor.
TABLE = {
    "UPPER_ARM": 0.186, "FOREARM": 0.146, "HAND": 0.108,
    "FOOT_HEIGHT": 0.039, "KNEE_HEIGHT": 0.285, "HIP_HEIGHT": 0.530,
    "SHOULDER_HEIGHT": 0.818, "CHIN_HEIGHT": 0.870,
    "SHOULDER_HALF_WIDTH": 0.129, "HIP_HALF_WIDTH": 0.191 / 2,
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(TABLE))
def test_the_canon_is_the_published_table(name: str) -> None:
    assert getattr(canon, name) == pytest.approx(TABLE[name], abs=1e-12)


def test_leg_segments_are_differences_of_published_heights() -> None:
    assert pytest.approx(TABLE["HIP_HEIGHT"] - TABLE["KNEE_HEIGHT"]) == canon.THIGH
    assert pytest.approx(TABLE["KNEE_HEIGHT"] - TABLE["FOOT_HEIGHT"]) == canon.SHANK


def test_the_chin_leaves_seven_and_a_half_to_eight_heads() -> None:
    assert 7.5 <= 1.0 / (1.0 - canon.CHIN_HEIGHT) <= 8.0
