"""When pieces leave and land."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from panelbeater.kinematics.chain import skeleton_of
from panelbeater.schedule import ScheduleOptions, schedule_moves
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action
from panelbeater.terms.timing import FrameSpan, Move, Schedule, ShotOptions
from tests.figures import capsule_figure
from tests.vehicles import drawing, piece
from tests.yard import yard

pytestmark = pytest.mark.solve

SHOT = ShotOptions(n_frames=72)
STACK = drawing(
    piece("floor", box(0, 0, 40, 20), 0),
    piece("door", box(0, 0, 38, 18), 1),
    piece("mast", box(60, 0, 70, 30), 2),
)


def _still_action(spans: dict[str, FrameSpan]) -> Action:
    """Only the spans matter to a schedule."""
    rest = skeleton_of(capsule_figure()).rest
    return Action(rest, tuple(spans.get(name, SHOT.moving) for name in BONE_IDS))


def _laid(*regions: str) -> Assignment:
    names = [p.id for p in STACK.pieces]
    covers = tuple(Cover(n, r, np.eye(3), 1.0, 1.0, 0.0, "")
                   for n, r in zip(names, regions, strict=True))  # fmt: skip
    return Assignment(covers, 0.0, 0.0, "by hand", 3)


def _moves(schedule: Schedule) -> dict[str, Move]:
    return {move.piece: move for move in schedule.moves}


def test_a_toy_schedule_is_proven_optimal_and_leaves_with_its_bones() -> None:
    spans = {"torso": FrameSpan(20, 40), "head": FrameSpan(35, 55)}
    schedule = schedule_moves(
        STACK,
        _laid("torso", "torso", "head"),
        _still_action(spans),
        [0.1, 0.1, 0.1],
        shot=SHOT,
    )
    assert schedule.proof == "optimal"
    moves, lead = _moves(schedule), ScheduleOptions().lead_frames
    assert moves["door"].start == 20 - lead
    assert moves["mast"].start == 35 - lead
    # With room on all sides each lands on the very frame its bone comes to rest.
    assert [moves[name].end for name in ("floor", "door", "mast")] == [40, 40, 55]


def test_a_piece_lands_after_its_bone_when_there_is_room() -> None:
    shot = yard(144)
    spans = {name: shot.action.spans[i] for i, name in enumerate(BONE_IDS)}
    for move, cover in zip(shot.schedule.moves, shot.assignment.covers, strict=True):
        rest = min(spans[cover.region].stop, shot.rig.shot.moving.stop)
        assert move.end >= rest, move.piece


def test_of_two_pieces_on_one_limb_the_outer_leaves_first() -> None:
    spans = {"forearm_l": FrameSpan(20, 40), "upper_arm_l": FrameSpan(21, 40)}
    layout = _laid("forearm_l", "upper_arm_l", "head")
    schedule = schedule_moves(
        STACK, layout, _still_action(spans), [0.1, 0.1, 0.1], shot=SHOT
    )
    moves = _moves(schedule)
    assert moves["door"].start <= moves["floor"].start
    # Side by side they would leave in the order of their bones.
    apart = replace(
        STACK,
        pieces=(STACK.pieces[0], piece("door", box(200, 0, 238, 18), 1), STACK.pieces[2]),
    )
    free = _moves(schedule_moves(apart, layout, _still_action(spans), [0.1] * 3, shot=SHOT))
    assert free["floor"].start < free["door"].start


def test_pieces_of_one_limb_leave_together() -> None:
    spans = {"thigh_l": FrameSpan(10, 30), "foot_l": FrameSpan(30, 50)}
    together = _moves(
        schedule_moves(
            STACK,
            _laid("thigh_l", "head", "foot_l"),
            _still_action(spans),
            [0.1] * 3,
            shot=SHOT,
        )
    )
    apart = _moves(schedule_moves(
        STACK, _laid("thigh_l", "head", "foot_r"),
        _still_action({**spans, "foot_r": FrameSpan(30, 50)}), [0.1] * 3, shot=SHOT
    ))  # fmt: skip
    gap = abs(together["mast"].start - together["floor"].start)
    assert gap < abs(apart["mast"].start - apart["floor"].start)
    assert gap <= ScheduleOptions().within_limb_frames


@pytest.mark.parametrize("n_frames", [24, 25, 48, 72, 144])
def test_every_piece_moves_once_inside_the_window(n_frames: int) -> None:
    shot = yard(n_frames)
    window = shot.rig.shot.moving
    assert [move.piece for move in shot.schedule.moves] == [
        p.id for p in shot.drawing.pieces
    ]
    for move in shot.schedule.moves:
        assert window.start <= move.start < move.end <= window.stop


def test_a_longer_way_takes_more_frames() -> None:
    spans = dict.fromkeys(BONE_IDS, FrameSpan(20, 22))
    schedule = schedule_moves(
        STACK,
        _laid("torso", "torso", "torso"),
        _still_action(spans),
        [0.0, 0.2, 0.8],
        shot=SHOT,
    )
    lengths = [move.end - move.start for move in schedule.moves]
    shortest = ScheduleOptions().shortest_frames
    assert shortest <= lengths[0] < lengths[1] < lengths[2]


def test_a_travel_too_long_for_the_shot_still_gets_a_schedule() -> None:
    schedule = schedule_moves(
        STACK, _laid("torso", "head", "foot_l"), _still_action({}), [9.0, 9.0, 9.0],
        shot=ShotOptions(n_frames=24),
    )  # fmt: skip
    window = ShotOptions(n_frames=24).moving
    assert all(window.start <= m.start < m.end <= window.stop for m in schedule.moves)


def test_without_any_effort_the_pieces_move_all_at_once_and_it_says_so() -> None:
    schedule = schedule_moves(
        yard(48).drawing, yard(48).assignment, yard(48).action, [0.3] * 19,
        shot=ShotOptions(n_frames=48), options=ScheduleOptions(deterministic_time=0.0),
    )  # fmt: skip
    assert len(schedule.moves) == 19
    assert schedule.proof != "optimal"


def test_the_same_shot_gets_the_same_schedule() -> None:
    shot = yard(48)
    again = schedule_moves(
        shot.drawing, shot.assignment, shot.action,
        (shot.rides.travel / shot.figure.height).tolist(), shot=shot.rig.shot,
    )  # fmt: skip
    assert again == shot.schedule
