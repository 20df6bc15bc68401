"""Pieces that change on their ride: bent at the end, redrawn in the fast middle."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from shapely import affinity

from panelbeater.geometry.stage import bone_outlines, laid_outline, piece_outlines
from panelbeater.paths import PathOptions
from panelbeater.paths.changes import bending_span, swap_frame
from panelbeater.paths.support import floating_groups
from panelbeater.terms.bend import Bend
from panelbeater.terms.drawing import Redrawing
from panelbeater.terms.timing import FrameSpan, Move
from tests.vehicles import yard_tractor
from tests.yard import Yard, hand_layout, yard_figure, yard_shot

BENT, REDRAWN = 1, 3
"""Places in the drawing."""
BEND = Bend(axis=0.2, curvature=0.03)


@cache
def changing() -> Yard:
    tractor = yard_tractor()
    pieces = list(tractor.pieces)
    drawn = pieces[REDRAWN].outline
    turned = affinity.rotate(drawn, 90, origin=drawn.centroid)
    pieces[REDRAWN] = replace(pieces[REDRAWN], redrawn=Redrawing(turned, "<g/>"))
    tractor = replace(tractor, pieces=tuple(pieces))
    layout = hand_layout(tractor, yard_figure())
    covers = list(layout.covers)
    covers[BENT] = replace(covers[BENT], bend=BEND)
    return yard_shot(tractor, replace(layout, covers=tuple(covers)), 24)


def test_a_bent_cover_leaves_straight_and_lands_bent() -> None:
    shot = changing()
    drawn = shot.drawing.pieces[BENT]
    first = piece_outlines(shot.rig, shot.sample, 0)[BENT]
    assert first.symmetric_difference(drawn.outline).area < 1e-9 * drawn.outline.area
    last = piece_outlines(shot.rig, shot.sample, 23)[BENT]
    wanted = laid_outline(drawn, shot.assignment.covers[BENT])
    assert last.symmetric_difference(wanted).area < 1e-9 * wanted.area
    straight = laid_outline(drawn, replace(shot.assignment.covers[BENT], bend=None))
    assert last.symmetric_difference(straight).area > 0.02 * wanted.area


def test_a_redrawn_piece_shows_its_second_drawing_from_its_fastest_frame_on() -> None:
    shot = changing()
    swap = shot.rig.tracks[REDRAWN].swap
    assert swap is not None
    assert shot.sample.redrawn[:, REDRAWN].tolist() == [f >= swap for f in range(24)]
    move = shot.schedule.moves[REDRAWN]
    assert move.start < swap < move.end
    last = piece_outlines(shot.rig, shot.sample, 23)[REDRAWN]
    wanted = laid_outline(shot.drawing.pieces[REDRAWN], shot.assignment.covers[REDRAWN])
    assert last.symmetric_difference(wanted).area < 1e-9 * wanted.area


def test_shape_changes_only_inside_its_move() -> None:
    span = bending_span(Move("plate", 10, 20))
    assert 10 < span.start < span.stop < 20
    assert bending_span(Move("plate", 3, 4)) == FrameSpan(3, 4)


@pytest.mark.parametrize("fast", [7, 11, 13])
def test_the_swap_falls_on_the_largest_step(fast: int) -> None:
    steps = np.ones(24)
    steps[fast] = 3.0
    way = np.stack([np.cumsum(steps), np.zeros(24)], axis=-1)
    assert swap_frame(way, FrameSpan(6, 14)) == fast
    even = np.stack([np.arange(24.0), np.zeros(24)], axis=-1)
    assert swap_frame(even, FrameSpan(6, 14)) == 10


def test_nothing_floats_while_pieces_change() -> None:
    """A bent and a redrawn piece are held by what they look like, not by how they began."""
    shot = changing()
    for frame in range(24):
        shapes = list(piece_outlines(shot.rig, shot.sample, frame))
        bodies = bone_outlines(shot.rig, shot.sample, frame)
        assert not floating_groups(shapes, bodies, shot.figure.height, PathOptions())
