"""Named eases follow the W3C's curves."""

from __future__ import annotations

from typing import get_args

import numpy as np
import pytest

from panelbeater.brief import Ease
from panelbeater.kinematics.ease import CSS_EASES, EASES, WITH_LIMB, cubic_bezier, eased

T = np.linspace(0, 1, 101)


def test_the_named_curves_are_those_of_the_specification() -> None:
    # CSS Easing Functions Level 1, section 2.2: the four keywords and their control points.
    assert CSS_EASES == {
        "ease": (0.25, 0.1, 0.25, 1.0),
        "ease-in": (0.42, 0.0, 1.0, 1.0),
        "ease-out": (0.0, 0.0, 0.58, 1.0),
        "ease-in-out": (0.42, 0.0, 0.58, 1.0),
    }


@pytest.mark.parametrize("name", CSS_EASES)
def test_progress_agrees_with_polynomial_roots(name: str) -> None:
    x1, y1, x2, y2 = CSS_EASES[name]
    for t in (0.25, 0.5, 0.75):
        roots = np.roots([1 + 3 * x1 - 3 * x2, 3 * x2 - 6 * x1, 3 * x1, -t])
        (s,) = [r.real for r in roots if abs(r.imag) < 1e-9 and -1e-9 <= r.real <= 1 + 1e-9]
        wanted = 3 * (1 - s) ** 2 * s * y1 + 3 * (1 - s) * s**2 * y2 + s**3
        assert eased(name, np.array([t]))[0] == pytest.approx(wanted, abs=1e-9)


def test_ease_in_out_is_half_way_at_half_time_and_answers_itself() -> None:
    values = eased("ease-in-out", T)
    assert values[50] == pytest.approx(0.5, abs=1e-12)
    assert values + values[::-1] == pytest.approx(np.ones(101), abs=1e-12)


def test_ease_in_played_backwards_is_ease_out() -> None:
    assert eased("ease-in", T) == pytest.approx(1 - eased("ease-out", T[::-1]), abs=1e-12)


def test_control_points_on_the_diagonal_are_linear() -> None:
    assert cubic_bezier(T, 0.3, 0.3, 0.7, 0.7) == pytest.approx(T, abs=1e-12)


@pytest.mark.parametrize("name", EASES)
def test_every_ease_starts_and_ends_exactly_and_never_goes_back(name: str) -> None:
    values = eased(name, np.linspace(-0.5, 1.5, 201))
    assert values[0] == 0.0
    assert values[-1] == 1.0
    assert (np.diff(values) >= 0).all()


def test_the_brief_offers_exactly_these_eases() -> None:
    assert get_args(Ease) == (WITH_LIMB, *EASES)
