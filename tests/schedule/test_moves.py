"""When pieces leave and land."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from panelbeater.kinematics.chain import skeleton_of
from panelbeater.schedule import ScheduleOptions, schedule_moves
from panelbeater.schedule.groups import find_groups
from panelbeater.terms.arrays import Points
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import Action
from panelbeater.terms.timing import FrameSpan, Move, Parting, Schedule, ShotOptions
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


def _across(*distances: float) -> Points:
    """Travels to the right, in figure heights."""
    return np.array([[far, 0.0] for far in distances])


def test_a_toy_schedule_is_proven_optimal_and_lands_with_its_bones() -> None:
    spans = {"torso": FrameSpan(20, 40), "head": FrameSpan(35, 55)}
    action = _still_action({**dict.fromkeys(BONE_IDS, FrameSpan(6, 20)), **spans})
    schedule = schedule_moves(
        STACK, _laid("torso", "torso", "head"), action, _across(0.1, 0.1, 0.1), shot=SHOT
    )
    assert schedule.proof == "optimal"
    moves = _moves(schedule)
    # With room on all sides each lands on the very frame its bone comes to rest.
    assert [moves[name].end for name in ("floor", "door", "mast")] == [40, 40, 55]


def test_pieces_leave_a_little_before_their_bone_turns() -> None:
    spans = dict.fromkeys(BONE_IDS, FrameSpan(6, 20))
    action = _still_action({**spans, "torso": FrameSpan(20, 40), "head": FrameSpan(35, 55)})
    layout, ways = _laid("torso", "torso", "head"), _across(0.1, 0.1, 0.1)
    moves = _moves(schedule_moves(STACK, layout, action, ways, shot=SHOT))
    lead = ScheduleOptions().lead_frames
    assert [moves[name].start + lead for name in ("floor", "mast")] == [20, 35]


def test_pieces_of_a_limb_that_go_the_same_way_leave_and_land_together() -> None:
    options = ScheduleOptions()
    same = find_groups([1, 1, 1], _across(0.3, 0.3, -0.3), SHOT, options)
    assert [group.pieces for group in same] == [(0, 1), (2,)]
    limbs = find_groups([1, 2, 1], _across(0.3, 0.3, 0.3), SHOT, options)
    assert sorted(group.pieces for group in limbs) == [(0, 2), (1,)]


def test_no_more_groups_set_out_at_once_than_an_eye_can_follow() -> None:
    n = 12
    crowd = drawing(*(piece(f"p{i:02d}", box(9 * i, 0, 9 * i + 8, 8), i) for i in range(n)))
    limbs = ("head", "foot_l", "foot_r", "hand_l", "hand_r", "torso")
    covers = tuple(
        Cover(p.id, limbs[i % 6], np.eye(3), 1.0, 1.0, 0.0, "")
        for i, p in enumerate(crowd.pieces)
    )
    # Charged so much that it outweighs every wish to leave with its bone.
    options = ScheduleOptions(crowd_cost=2000)
    angles = 2 * np.pi * np.arange(n) / n
    schedule = schedule_moves(
        crowd, Assignment(covers, 0.0, 0.0, "by hand", n),
        _still_action(dict.fromkeys(BONE_IDS, FrameSpan(6, 20))),
        0.2 * np.stack([np.cos(angles), np.sin(angles)], axis=-1), shot=SHOT,
        options=options,
    )  # fmt: skip
    for frame in range(SHOT.n_frames):
        busy = sum(
            move.start <= frame < move.end - options.overlap_frames
            for move in schedule.moves
        )
        assert busy <= options.n_groups


def test_a_piece_lands_after_its_bone_when_there_is_room() -> None:
    shot = yard(144)
    schedule = schedule_moves(
        shot.drawing, shot.assignment, shot.action, shot.rides.travel / shot.figure.height,
        shot=shot.rig.shot,
    )  # fmt: skip
    spans = {name: shot.action.spans[i] for i, name in enumerate(BONE_IDS)}
    for move, cover in zip(schedule.moves, shot.assignment.covers, strict=True):
        rest = min(spans[cover.region].stop, shot.rig.shot.moving.stop)
        assert move.end >= rest, move.piece


def test_of_two_pieces_on_one_limb_the_outer_leaves_first() -> None:
    # Their bones are out together; they go different ways, so they are two groups.
    action = _still_action(dict.fromkeys(BONE_IDS, FrameSpan(6, 30)))
    ways = np.array([[0.3, 0.0], [-0.1, 0.0], [0.0, 0.3]])
    moves = _moves(
        schedule_moves(STACK, _laid("torso", "torso", "head"), action, ways, shot=SHOT)
    )
    assert moves["door"].start <= moves["floor"].start


def test_pieces_of_one_limb_leave_together() -> None:
    still = dict.fromkeys(BONE_IDS, FrameSpan(6, 20))
    spans = {**still, "thigh_l": FrameSpan(10, 30), "foot_l": FrameSpan(30, 50)}
    ways = _across(0.1, -0.1, -0.1)  # apart, so that they are two groups

    def gap(last: str) -> int:
        action = _still_action({**spans, last: FrameSpan(30, 50)})
        layout = _laid("thigh_l", "head", last)
        moves = _moves(schedule_moves(STACK, layout, action, ways, shot=SHOT))
        return abs(moves["mast"].start - moves["floor"].start)

    assert gap("foot_l") < gap("foot_r")
    assert gap("foot_l") <= ScheduleOptions().within_limb_frames


@pytest.mark.parametrize("n_frames", [24, 25, 48, 144])
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
        _across(0.0, -0.25, 0.8),
        shot=SHOT,
    )
    lengths = [move.end - move.start for move in schedule.moves]
    shortest = ScheduleOptions().shortest_frames
    assert shortest == lengths[0] < lengths[1] < lengths[2]


def test_a_travel_too_long_for_the_shot_still_gets_a_schedule() -> None:
    schedule = schedule_moves(
        STACK, _laid("torso", "head", "foot_l"), _still_action({}), _across(9.0, 9.0, 9.0),
        shot=ShotOptions(n_frames=24),
    )  # fmt: skip
    window = ShotOptions(n_frames=24).moving
    assert all(window.start <= m.start < m.end <= window.stop for m in schedule.moves)


def test_without_any_effort_the_pieces_move_all_at_once_and_it_says_so() -> None:
    schedule = schedule_moves(
        yard(48).drawing, yard(48).assignment, yard(48).action, _across(*[0.3] * 19),
        shot=ShotOptions(n_frames=48), options=ScheduleOptions(deterministic_time=0.0),
    )  # fmt: skip
    assert len(schedule.moves) == 19
    assert schedule.proof != "optimal"


def test_the_same_shot_gets_the_same_schedule() -> None:
    shot = yard(48)
    again = schedule_moves(
        shot.drawing, shot.assignment, shot.action,
        shot.rides.travel / shot.figure.height, shot=shot.rig.shot,
    )  # fmt: skip
    assert again == shot.schedule


def test_a_pair_waits_a_little_to_part_and_not_for_long() -> None:
    spans = dict.fromkeys(BONE_IDS, FrameSpan(20, 40))
    action, layout = _still_action(spans), _laid("torso", "head", "head")
    ways = _across(0.1, 0.1, 0.1)

    def starts(*allowed: tuple[int, int]) -> tuple[int, int]:
        asked = (Parting((0, 1), allowed),)
        moves = _moves(
            schedule_moves(STACK, layout, action, ways, shot=SHOT, partings=asked)
        )
        return moves["floor"].start, moves["door"].start

    usual = _moves(schedule_moves(STACK, layout, action, ways, shot=SHOT))
    one, other = usual["floor"].start, usual["door"].start
    assert starts((one - 2, other), (one - 4, other + 20)) == (one - 2, other)
    assert starts((one - 10, other + 10)) == (one, other)


@pytest.mark.parametrize(("step_cost", "along"), [(0, 0), (10, 3)])
def test_mirror_pieces_keep_the_offset_of_their_limbs(step_cost: int, along: int) -> None:
    twins = drawing(
        replace(piece("floor", box(0, 0, 20, 20), 0), mirror="door"),
        replace(piece("door", box(60, 0, 80, 20), 1), mirror="floor"),
        piece("mast", box(100, 0, 110, 30), 2),
    )
    spans = {"forearm_l": FrameSpan(22, 42), "forearm_r": FrameSpan(20, 40)}
    action = _still_action({**dict.fromkeys(BONE_IDS, FrameSpan(6, 20)), **spans})
    layout, ways = _laid("forearm_l", "forearm_r", "head"), _across(0.1, 0.1, 0.1)
    options = ScheduleOptions(step_cost=step_cost)

    def starts(*partings: Parting) -> tuple[int, int]:
        moves = _moves(
            schedule_moves(
                twins, layout, action, ways, shot=SHOT, partings=partings, options=options
            )
        )
        return moves["floor"].start, moves["door"].start

    one, other = starts()
    assert one - other == 2
    pushed = Parting((0, 2), tuple((one - 3, k) for k in range(SHOT.n_frames)))
    assert starts(pushed) == (one - 3, other - along)
