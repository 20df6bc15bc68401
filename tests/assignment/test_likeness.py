"""A piece counts as kept exactly as far as the judge knows it again."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Polygon, box

from panelbeater.assignment.candidates import piece_form, stretch_matrix
from panelbeater.assignment.likeness import likeness
from panelbeater.assignment.options import AssignmentOptions
from panelbeater.geometry.frames import map_shape, rigid
from panelbeater.scores import STANDARD
from panelbeater.scores.likeness import shape_distance
from panelbeater.terms.drawing import Shape
from tests.vehicles import piece

PLATE = box(0, 0, 24, 6)
HOOK = Polygon([(0, 0), (30, 0), (30, 3), (3, 3), (3, 27), (30, 27), (30, 30), (0, 30)])
MOST = AssignmentOptions().keep_stretch


def stretched(shape: Shape, stretch: float, axis: float) -> Shape:
    end = np.eye(3)
    end[:2, :2] = stretch_matrix(1.0, stretch, axis)
    return map_shape(end, shape)


def test_move_turn_and_size_do_not_tell_and_a_stretch_tells_by_its_overlap() -> None:
    moved = map_shape(
        rigid(np.array([70.0, -3.0]), np.array(1.2)) @ np.diag([2, 2, 1]), HOOK
    )
    assert likeness(HOOK, moved) == pytest.approx(1.0)
    # For corners of a square made 1.2 by 1 the best size is 1.1, which covers 1.1 of it.
    assert likeness(box(0, 0, 1, 1), box(0, 0, 1.2, 1)) == pytest.approx(1.1 / 1.31)


def test_a_plate_bears_the_whole_stretch_and_a_thin_hook_does_not() -> None:
    plate, hook = (
        piece_form(0, piece(name, shape, 0), AssignmentOptions())
        for name, shape in (("plate", PLATE), ("hook", HOOK))
    )
    assert plate.keep_stretch == MOST
    assert 1 < hook.keep_stretch < MOST
    assert not hook.is_kept(1.0, MOST)


@pytest.mark.parametrize("shape", [PLATE, HOOK])
def test_what_counts_as_kept_the_judge_knows_again(shape: Polygon) -> None:
    form = piece_form(0, piece("part", shape, 0), AssignmentOptions())
    for stretch in (form.keep_stretch, 1 / form.keep_stretch):
        worn = stretched(form.outline, stretch, form.axis)
        assert form.is_kept(1.0, max(stretch, 1 / stretch))
        assert shape_distance(form.outline, worn) < STANDARD.shape_distance


def test_a_hook_stretched_like_a_plate_the_judge_does_not_know_again() -> None:
    form = piece_form(0, piece("hook", HOOK, 0), AssignmentOptions())
    worst = max(
        shape_distance(form.outline, stretched(form.outline, stretch, form.axis))
        for stretch in (MOST, 1 / MOST)
    )
    assert worst >= STANDARD.shape_distance


def test_the_smallest_and_largest_size_count_whatever_the_last_digit() -> None:
    form = piece_form(0, piece("plate", PLATE, 0), AssignmentOptions())
    for scale in (0.95, 1.05, float(np.exp(np.log(1.05)))):
        assert form.is_kept(scale, float(np.exp(1e-16)))
    assert not form.is_kept(1.06, 1.0)
