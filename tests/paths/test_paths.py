"""The pieces' rides: from the drawn spot, carried all the way, to where they land."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box
from shapely.geometry.base import BaseGeometry

from panelbeater.geometry.frames import apply, map_shape, moved, rigid
from panelbeater.geometry.stage import (
    bone_outlines,
    piece_outlines,
    piece_scales,
    piece_transforms,
)
from panelbeater.kinematics.chain import Skeleton, place_bones, skeleton_of
from panelbeater.paths import PathOptions, find_rides, plan_paths
from panelbeater.paths.crowd import PARTS, Crowd
from panelbeater.paths.lead import lead_pieces
from panelbeater.paths.ride import QUICKEST, Rides, blend, shares_come, stretches
from panelbeater.paths.support import floating_groups
from panelbeater.paths.waiting import bodies_by_frame
from panelbeater.rig import sample_rig
from panelbeater.terms.arrays import Points
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.pose import Action, Pose
from panelbeater.terms.rig import Sample
from panelbeater.terms.timing import Move, Schedule
from tests.figures import capsule_figure
from tests.vehicles import drawing, piece
from tests.yard import GROUND, Yard, yard

OPTIONS = PathOptions()
FLOAT_REACH = 0.005  # share of the height within which a bone carries a piece: metrics


@pytest.fixture(params=[24, 48])
def shot(request: pytest.FixtureRequest) -> Yard:
    return yard(request.param)


def _carried(shapes: list[BaseGeometry], bodies: list[BaseGeometry]) -> set[int]:
    """Pieces reached from the body by stepping from touching shape to touching shape."""
    height = yard(48).figure.height
    held = {
        i
        for i, shape in enumerate(shapes)
        if min(shape.distance(body) for body in bodies) <= FLOAT_REACH * height
    }
    front = list(held)
    while front:
        here = shapes[front.pop()]
        for other, shape in enumerate(shapes):
            if other not in held and here.distance(shape) <= 1e-3 * height:
                held.add(other)
                front.append(other)
    return held


def test_the_first_frame_is_the_vehicle(shot: Yard) -> None:
    first = piece_transforms(shot.rig, shot.sample)[0]
    assert first == pytest.approx(np.broadcast_to(np.eye(3), first.shape), abs=1e-9)


def test_the_last_frame_is_the_assigned_layout(shot: Yard) -> None:
    wanted = np.array([cover.stage_from_piece for cover in shot.assignment.covers])
    hold = shot.rig.shot.last_hold
    for frame in range(1, hold + 1):
        assert shot.sample.stage_from_piece[-frame] == pytest.approx(wanted, abs=1e-9)


def test_what_is_planned_between_frames_is_what_the_rig_does_there(
    shot: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[tuple[Crowd, Points]] = []

    def watched(crowd: Crowd, *rest: Any, fine: bool) -> Points:
        seen.append((crowd, lead_pieces(crowd, *rest, fine=fine)))
        return seen[-1][1]

    monkeypatch.setattr("panelbeater.paths.plan.lead_pieces", watched)
    tracks = plan_paths(
        shot.drawing, shot.skeleton, shot.action, shot.assignment, shot.rides,
        shot.schedule, ground=GROUND, height=shot.figure.height, shot=shot.rig.shot,
    )  # fmt: skip
    crowd, moves = seen[-1]
    assert moves.any()
    planned = crowd.placed.copy()
    planned[..., :2, 2] += crowd.in_between(moves)
    n_moments = len(planned)
    rig = replace(shot.rig, tracks=tracks)
    played = sample_rig(rig, np.arange(n_moments) / PARTS).stage_from_piece
    assert played == pytest.approx(planned, abs=2e-4 * shot.figure.height)


def test_every_piece_rides_the_bone_of_its_region(shot: Yard) -> None:
    assert [(t.piece, t.bone) for t in shot.rig.tracks] == [
        (c.piece, c.region) for c in shot.assignment.covers
    ]


def test_nothing_floats(shot: Yard) -> None:
    for frame in range(shot.rig.shot.n_frames):
        shapes = list(piece_outlines(shot.rig, shot.sample, frame))
        bodies = list(bone_outlines(shot.rig, shot.sample, frame))
        loose = floating_groups(shapes, bodies, shot.figure.height, OPTIONS)
        # Outlines are simplified while routing: what touches there may part by as much.
        held = _carried(list(shapes), list(bodies))
        names = [p.id for i, p in enumerate(shot.drawing.pieces) if i not in held]
        assert not names, f"frame {frame}"
        assert all(set(group) <= held for group in loose), f"frame {frame}"


def test_no_piece_sinks_below_the_ground(shot: Yard) -> None:
    lowest = max(
        shape.bounds[3]
        for frame in range(shot.rig.shot.n_frames)
        for shape in piece_outlines(shot.rig, shot.sample, frame)
    )
    assert lowest <= GROUND + 0.002 * shot.figure.height


def test_no_piece_shrinks_below_its_allowance(shot: Yard) -> None:
    half_frames = np.arange(0, shot.rig.shot.n_frames - 1, 0.5)
    scales = piece_scales(sample_rig(shot.rig, half_frames))
    smallest = np.array([p.allowance.dip_min for p in shot.drawing.pieces])
    assert np.all(scales.min(axis=0) >= smallest - 1e-9)
    assert scales[0] == pytest.approx(np.ones(len(smallest)))


def test_a_piece_never_turns_the_long_way_round(shot: Yard) -> None:
    turns = np.arctan2(
        shot.sample.stage_from_piece[..., 1, 0] - shot.sample.stage_from_piece[..., 0, 1],
        shot.sample.stage_from_piece[..., 0, 0] + shot.sample.stage_from_piece[..., 1, 1],
    )
    assert np.abs(np.diff(np.unwrap(turns, axis=0), axis=0)).max() < 0.5 * np.pi


def _one_ride(turn: float, scale: float = 1.0) -> tuple[Rides, Schedule]:
    """A piece on a still torso that turns by `turn` over frames 10 to 30."""
    vehicle = drawing(piece("plate", box(-10, 40, 30, 60), 0))
    skeleton = skeleton_of(capsule_figure(100, ground=100))
    rest = skeleton.rest
    still = Pose(
        *(np.broadcast_to(v, (40, *v.shape)) for v in (rest.root, rest.turns, rest.scales))
    )
    action = Action(still, ())
    place = rigid(np.array([10.0, 50.0]), np.array(turn)) @ np.diag([scale, scale, 1.0])
    cover = Cover("plate", "torso", place, scale, 1.0, 0.1, "")
    rides = _rides(vehicle, skeleton, action, cover)
    return rides, Schedule((Move("plate", 10, 30),), "")


def _rides(vehicle: Drawing, skeleton: Skeleton, action: Action, cover: Cover) -> Rides:
    return find_rides(
        vehicle, skeleton, action, Assignment((cover,), 0, 0, "", 1), width=200
    )  # fmt: skip


@given(st.floats(0.7, 1.4), st.floats(0.7, 1.4), st.floats(-3.1, 3.1))
def test_sizes_change_by_equal_ratios_and_reach_their_end(
    along: float, across: float, turn: float
) -> None:
    axes = rigid(np.zeros(2), np.array(turn))[:2, :2]
    end = axes @ np.diag([along, across]) @ axes.T
    last = np.array([[0, 0, 0, end[0, 0], end[0, 1], end[1, 1]]])
    values = stretches(last, np.linspace(0, 1, 5)[:, None])[:, 0]
    areas = values[:, 0] * values[:, 2] - values[:, 1] ** 2
    assert np.diff(np.log(areas)) == pytest.approx(np.full(4, np.log(along * across) / 4))
    assert values[0] == pytest.approx([1, 0, 1])
    assert np.array_equal(values[-1], last[0, 3:])


def test_a_piece_rests_before_its_move_and_after_it() -> None:
    rides, schedule = _one_ride(1.0)
    values = blend(rides, schedule, 40)[:, 0]
    assert values[:11] == pytest.approx(np.tile(values[0], (11, 1)), abs=1e-9)
    assert np.array_equal(values[30:], np.tile(rides.last[0, :3], (10, 1)))
    assert np.abs(values[20] - values[[0, -1]]).max() > 0.1


def test_a_piece_rides_the_folded_bone_it_waits_on_until_it_leaves() -> None:
    shot = yard(48)
    rides, at = shot.rides, shot.sample.stage_from_piece[:, :, :2, 2]
    carried = rides.frames[:, rides.waits] @ np.linalg.inv(rides.frames[:1, rides.waits])
    places = apply(carried, rides.drawn[:, None])[:, :, 0]
    waiting = np.arange(48)[:, None] <= [move.start for move in shot.schedule.moves]
    drift = np.abs(at - places).max(axis=-1)[waiting]
    # A few have to be drawn nearer to the body while they wait.
    assert np.mean(drift < 1e-6 * shot.figure.height) > 0.8


def test_pieces_that_are_worn_by_the_bone_beneath_them_never_leave_it() -> None:
    shot = yard(48)
    bodies = bodies_by_frame(shot.skeleton, shot.action.pose)[0]
    for i, part in enumerate(shot.drawing.pieces):
        bone = int(shot.rides.bones[i])
        if part.outline.intersection(bodies[bone]).area > 0:
            assert shot.rides.waits[i] == bone


def test_a_straight_ride_on_a_turning_bone_is_an_arc_on_the_stage() -> None:
    shot = yard(48)
    head = next(i for i, t in enumerate(shot.rig.tracks) if t.bone == "head")
    way = shot.sample.stage_from_piece[:, head, :2, 2]
    path = np.hypot(*np.diff(way, axis=0).T).sum()
    chord = np.hypot(*(way[-1] - way[0]))
    assert path > chord


def test_a_piece_left_behind_is_carried_all_the_same() -> None:
    # All but a corner plate leave at once, so that nothing holds it where it was drawn.
    shot, early, late = yard(48), (6, 12), (24, 34)
    moves = tuple(
        Move(p.id, *(late if p.id == "plate_00" else early)) for p in shot.drawing.pieces
    )
    schedule = Schedule(moves, "by hand")
    tracks = plan_paths(
        shot.drawing, shot.skeleton, shot.action, shot.assignment, shot.rides, schedule,
        ground=GROUND, height=shot.figure.height, shot=shot.rig.shot,
    )  # fmt: skip
    rig = replace(shot.rig, tracks=tracks)
    sample = sample_rig(rig, np.arange(48, dtype=np.float64))
    assert not _loose(replace(shot, rig=rig), sample)


def _loose(shot: Yard, sample: Sample) -> list[tuple[int, int]]:
    """(frame, piece) of everything that floats, by the walk from touch to touch."""
    out = []
    for frame in range(shot.rig.shot.n_frames):
        shapes = list(piece_outlines(shot.rig, sample, frame))
        held = _carried(list(shapes), list(bone_outlines(shot.rig, sample, frame)))
        out += [(frame, i) for i in range(len(shapes)) if i not in held]
    return out


@pytest.mark.parametrize("wound", [-4.0, 0.0, 4.0])
def test_a_piece_takes_the_short_way_round_however_its_bone_winds(wound: float) -> None:
    vehicle = drawing(piece("plate", box(-10, 40, 30, 60), 0))
    skeleton = skeleton_of(capsule_figure(100, ground=100))
    rest = skeleton.rest
    turns = np.stack([rest.turns, rest.turns])
    turns[0, 0] += wound
    action = Action(Pose(np.stack([rest.root] * 2), turns, np.ones((2, 15, 2))), ())
    place = rigid(np.array([10.0, 50.0]), np.array(1.0))
    cover = Cover("plate", "torso", place, 1.0, 1.0, 0.1, "")
    rides = _rides(vehicle, skeleton, action, cover)
    values = blend(rides, Schedule((Move("plate", 0, 1),), ""), 2)
    _, angles = place_bones(skeleton, action.pose)
    on_stage = values[:, 0, 2] + angles[:, rides.bones[0]]
    assert on_stage[1] - on_stage[0] == pytest.approx(1.0)


def test_a_mapped_plate_lands_where_its_cover_says() -> None:
    shot = yard(24)
    for i, (drawn, cover) in enumerate(
        zip(shot.drawing.pieces, shot.assignment.covers, strict=True)
    ):
        centre = drawn.outline.centroid
        wanted = map_shape(
            cover.stage_from_piece @ moved(-centre.x, -centre.y), drawn.outline
        )
        last = piece_outlines(shot.rig, shot.sample, 23)[i]
        assert last.symmetric_difference(wanted).area < 1e-6 * wanted.area, drawn.id


def test_a_piece_keeps_pace_with_the_limb_that_wears_it(shot: Yard) -> None:
    shares = shares_come(shot.rides, shot.schedule, shot.rig.shot.n_frames)
    assert np.all(np.diff(shares, axis=0) >= 0)
    assert np.diff(shares, axis=0).max() <= QUICKEST + 1e-9
    on_bone = shot.rides.frames[:, shot.rides.bones]
    there = apply(on_bone, shot.rides.last[:, None, :2])[:, :, 0]
    way = np.hypot(*np.moveaxis(np.diff(there, axis=0), -1, 0))
    for at, move in enumerate(shot.schedule.moves):
        assert not shares[: move.start + 1, at].any()
        assert np.all(shares[move.end :, at] == 1.0)
        mine = way[:, at] * (np.diff(shares[:, at]) > 0)
        if mine.sum() > 0.2 * shot.figure.height:  # else the limb rests all the while
            rests = mine < 1e-3 * mine.max()
            assert np.diff(shares[:, at])[rests].sum() < 0.02  # nothing creeps on


def test_a_piece_whose_limb_rests_comes_calmly(shot: Yard) -> None:
    frames = np.repeat(shot.rides.frames[:1], len(shot.rides.frames), axis=0)
    still = replace(shot.rides, frames=frames)
    moves = (Move("bed", 4, 18),) * len(shot.rides.bones)
    shares = shares_come(still, Schedule(moves, ""), shot.rig.shot.n_frames)
    assert shares == pytest.approx(shares[:, :1] * np.ones(len(moves)), abs=1e-9)
    assert shares[11] == pytest.approx(0.5)
    assert np.diff(shares, axis=0).max() < QUICKEST
