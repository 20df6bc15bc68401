"""The constants of the minimum-jerk move (Flash & Hogan 1985, J. Neurosci. 5, eq. 2)."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.polynomial import Polynomial, polynomial

from panelbeater.kinematics.ease import minimum_jerk

T = np.linspace(0, 1, 10_001)


def _quintic() -> Polynomial:
    """The ease as a polynomial, read off its values."""
    return Polynomial(polynomial.polyfit(T, minimum_jerk(T), 5))


def test_the_ease_is_one_quintic() -> None:
    assert _quintic().coef == pytest.approx([0, 0, 0, 10, -15, 6], abs=1e-8)


def test_peak_speed_is_1_875_times_the_mean_halfway() -> None:
    speed = _quintic().deriv()(T)
    assert speed.max() == pytest.approx(1.875, abs=1e-6)
    assert T[speed.argmax()] == pytest.approx(0.5)


def test_peak_acceleration_is_ten_over_root_three() -> None:
    acceleration = _quintic().deriv(2)(T)
    assert acceleration.max() == pytest.approx(10 / np.sqrt(3), abs=1e-5)
    assert acceleration.min() == pytest.approx(-10 / np.sqrt(3), abs=1e-5)


def test_squared_jerk_adds_up_to_720() -> None:
    squared = _quintic().deriv(3) ** 2
    whole = squared.integ()
    assert whole(1) - whole(0) == pytest.approx(720, abs=1e-5)


def test_every_other_quintic_through_the_same_ends_jerks_more() -> None:
    # t^3 (1 - t)^3 keeps place, speed and acceleration at both ends.
    bump = Polynomial([0, 0, 0, 1]) * Polynomial([1, -1]) ** 3
    for share in (-0.5, 0.5):
        squared = ((_quintic() + share * bump).deriv(3) ** 2).integ()
        assert squared(1) - squared(0) > 720.5


def test_the_move_is_held_before_it_starts_and_after_it_ends() -> None:
    assert minimum_jerk(np.array([-3.0, 0.0, 1.0, 7.0])).tolist() == [0, 0, 1, 1]
