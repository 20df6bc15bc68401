from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from panelbeater.animation import ShotPlan
from panelbeater.geometry.stage import laid_outline
from panelbeater.kinematics.chain import skeleton_of
from panelbeater.rig import plan_from_json, plan_to_json
from panelbeater.scores import score_shot
from panelbeater.stress import bodies, handling, recast, retime
from panelbeater.stress.case import take_of
from panelbeater.stress.trials import Trial, figures_of, is_retimed, plan_of
from panelbeater.terms.figure import BONE_IDS, without_side
from panelbeater.terms.pose import KeyPose
from panelbeater.verdict import allowances_of
from tests.stress.bench import tractor_case, tractor_plan


def test_lingering_adds_just_those_frames_and_slows_just_there() -> None:
    times = retime.lingering(48, 20, 6)
    assert len(times) == 54
    assert (times[0], times[-1]) == (0.0, 47.0)
    steps = np.diff(times)
    assert steps.min() > 0
    assert steps[:11] == pytest.approx(1.0)
    assert steps[-18:] == pytest.approx(1.0)
    assert times[int(np.argmin(steps))] == pytest.approx(20, abs=1.5)


def test_the_same_clock_gives_the_same_frames() -> None:
    plan = tractor_plan()
    again = retime.on_clock(plan, np.arange(48, dtype=np.float64))
    assert again.sample.stage_from_piece == pytest.approx(
        plan.sample.stage_from_piece, abs=1e-6
    )


def test_a_held_pose_stands_still_and_then_goes_on() -> None:
    plan = tractor_plan()
    held = retime.on_clock(plan, retime.held(48, first=3, last=2))
    assert held.rig.shot.n_frames == 53
    places = held.sample.stage_from_piece
    assert places[:4] == pytest.approx(np.broadcast_to(places[0], (4, *places[0].shape)))
    assert places[3:51] == pytest.approx(plan.sample.stage_from_piece, abs=1e-6)


def test_no_foot_sinks_when_a_passage_is_slowed() -> None:
    plan = tractor_plan()
    slow = retime.on_clock(plan, retime.lingering(48, 20, 7))
    take = take_of(slow, tractor_case().shot)
    lowest = max(b.outline.bounds[3] for f in take.frames for b in f.bones)
    assert lowest <= slow.rig.ground + 0.002 * slow.rig.figure.height


def test_a_cue_moves_one_piece_and_stops_at_the_edge_of_the_shot() -> None:
    plan = tractor_plan()
    before = {t.piece: t for t in plan.rig.tracks}
    name = min(before, key=lambda n: before[n].end)
    later = {t.piece: t for t in retime.on_cue(plan, (name,), 2).rig.tracks}
    assert later[name].start - before[name].start == later[name].end - before[name].end == 2
    assert all(later[n].start == before[n].start for n in before if n != name)
    never = {t.piece: t for t in retime.on_cue(plan, (name,), 999).rig.tracks}
    assert never[name].end == plan.rig.shot.moving.stop


def test_on_twos_shows_every_second_drawing_and_the_last() -> None:
    shot = handling.exposed(tractor_case().shot, 2)
    first = [frame.pieces[0].outline for frame in shot.frames]
    assert all(first[k] is first[k + 1] for k in range(0, 46, 2))
    assert first[-1] is tractor_case().shot.frames[-1].pieces[0].outline
    assert [frame.frame for frame in shot.frames] == list(range(48))


def test_a_flopped_stage_gets_the_same_verdict() -> None:
    case = tractor_case()
    allowed = allowances_of(case.plan)
    found = figures_of(score_shot(handling.flopped_shot(case.shot), allowances=allowed))
    own = figures_of(case.scores)
    for name in ("coverage", "own-region coverage", "bundles", "tracking load", "kink"):
        assert found.values[name] == pytest.approx(own.values[name], rel=1e-6)
    assert found.kept == own.kept


def test_a_redraw_without_error_changes_nothing() -> None:
    case = tractor_case()
    rows = handling.telling_rows(48, 12)
    rng = np.random.default_rng(1)
    shot = handling.redrawn(case.plan, case.shot, rng, 0.0, rows)
    assert rows == [0, 12, 24, 36, 46, 47]
    for at, row in enumerate(rows):
        here, there = shot.frames[at].pieces[3], case.shot.frames[row].pieces[3]
        assert here.outline.symmetric_difference(there.outline).area < 1e-6
    assert [frame.frame for frame in shot.frames] == list(range(6))


def test_a_shakier_hand_leaves_larger_gaps() -> None:
    case = tractor_case()
    rows = handling.telling_rows(48, 40)

    def strays(error: float) -> float:
        rng = np.random.default_rng(3)
        shot = handling.redrawn(case.plan, case.shot, rng, error, rows)
        return sum(
            a.outline.symmetric_difference(b.outline).area
            for a, b in zip(shot.pieces, case.shot.pieces, strict=True)
        )

    assert 0 < strays(0.01) < 0.6 * strays(0.03)


def test_a_piece_at_drawn_size_lies_in_the_same_place() -> None:
    plan = tractor_plan()
    cover = plan.assignment.covers[5]
    cast = recast.cast_of(plan)
    again = recast.at_drawn_size(cast, (cover.piece,)).assignment.covers[5]
    linear = again.stage_from_piece[:2, :2]
    assert linear @ linear.T == pytest.approx(np.eye(2), abs=1e-12)
    assert again.stage_from_piece[:2, 2] == pytest.approx(cover.stage_from_piece[:2, 2])


def test_a_shoe_at_drawn_size_stands_on_the_ground() -> None:
    plan = tractor_plan()
    grown = recast.at_drawn_size(recast.cast_of(plan), ("plate_00",))
    cover, piece = grown.assignment.covers[0], grown.drawing.pieces[0]
    assert cover.region == "foot_r"
    assert laid_outline(piece, cover).bounds[3] == pytest.approx(plan.rig.ground)


def test_a_wheel_is_tried_only_where_the_trade_puts_wheels() -> None:
    plan = tractor_plan()
    places = recast.other_places(plan, "wheel_rear")
    assert places
    assert {without_side(c.region) for c in places} <= {"shank", "foot", "upper_arm"}
    gains = [cover.gain for cover in places]
    assert gains == sorted(gains, reverse=True)
    elsewhere = recast.relaid(recast.cast_of(plan), places[:1]).assignment.covers
    assert next(c.region for c in elsewhere if c.piece == "wheel_rear") == places[0].region


def test_a_hidden_piece_is_gone_at_the_end_and_there_at_the_start() -> None:
    plan = tractor_plan()
    cast = recast.cast_of(plan)
    away = recast.animated(recast.relaid(cast, [recast.stowed(plan, "plate_20")]))
    at = [p.id for p in plan.rig.drawing.pieces].index("plate_20")
    assert away.sample.visible[0, at]
    assert not away.sample.visible[-1, at]
    others = [i for i in range(len(plan.rig.drawing.pieces)) if i != at]
    assert away.sample.visible[:, others].all()


def test_a_piece_kept_in_front_is_over_all_others_in_every_frame() -> None:
    plan = recast.in_front(tractor_plan(), "plate_00")
    assert (plan.rig.depth[:, 0] == plan.rig.depth.max(axis=1)).all()
    assert recast.covered_in_vehicle(tractor_plan(), "plate_00") == 0
    assert recast.covered_in_vehicle(tractor_plan(), "plate_20") > 0.1


def test_parts_of_a_split_piece_stay_put_and_ride_their_own_bones() -> None:
    plan = tractor_plan()
    at = next(i for i, p in enumerate(plan.rig.drawing.pieces) if p.id == "cab")
    thigh = next(b for b in plan.rig.figure.bones if b.id == "thigh_l")
    place = np.array(plan.assignment.covers[at].stage_from_piece)
    place[:2, 2] = np.asarray(thigh.start) + [0.0, 2.0]
    covers = list(plan.assignment.covers)
    covers[at] = replace(covers[at], stage_from_piece=place, region="waist")
    across = replace(plan, assignment=replace(plan.assignment, covers=tuple(covers)))
    cut = recast.cut_in_two(recast.cast_of(across), "cab")
    assert cut is not None
    parts = [p for p in cut.drawing.pieces if p.id.startswith("cab.")]
    regions = {c.region for c in cut.assignment.covers if c.piece.startswith("cab.")}
    assert len(parts) >= 2
    assert len(regions) >= 2
    whole = plan.rig.drawing.pieces[at].outline
    assert sum(p.outline.area for p in parts) == pytest.approx(whole.area)
    assert recast.cut_in_two(recast.cast_of(plan), "wheel_rear") is None


def another_body(plan: ShotPlan, rng: np.random.Generator) -> ShotPlan:
    """The plan made again on a figure of other proportions."""
    return recast.animated(bodies.another_body(recast.cast_of(plan), rng))


def crouched() -> ShotPlan:
    """The tractor's plan made over a key pose of the head, half way."""
    plan = tractor_plan()
    key = KeyPose("nod", 20, None, {"head": 0.3}, {})
    cast = recast.cast_of(plan)
    return recast.animated(replace(cast, hidden=replace(cast.hidden, poses=(key,))))


def nod(plan: ShotPlan, frame: int) -> float:
    """How far the head is turned from standing, radians."""
    rest = skeleton_of(plan.rig.figure).rest
    head = BONE_IDS.index("head")
    return float(plan.rig.action.turns[frame, head] - rest.turns[head])


def test_a_key_pose_is_hit_again_by_every_replan() -> None:
    plan = crouched()
    assert nod(plan, 20) == pytest.approx(0.3)
    assert nod(tractor_plan(), 20) != pytest.approx(0.3, abs=0.05)
    written = plan_to_json(plan.rig, plan.assignment)
    rig, assignment = plan_from_json(written)
    read = replace(plan, rig=rig, assignment=assignment)
    assert nod(recast.animated(recast.cast_of(read)), 20) == pytest.approx(0.3)
    other = another_body(read, np.random.default_rng(2))
    assert nod(other, 20) == pytest.approx(0.3)


def test_a_key_pose_keeps_its_share_of_a_longer_shot() -> None:
    plan = crouched()
    shot = replace(plan.rig.shot, n_frames=96)
    long = recast.animated(recast.retimed(recast.cast_of(plan), shot))
    old, new = plan.rig.shot.moving, long.rig.shot.moving
    frame = long.rig.poses[0].frame
    share = (20 - old.start) / (old.stop - old.start)
    assert (frame - new.start) / (new.stop - new.start) == pytest.approx(share, abs=0.01)
    assert nod(long, frame) == pytest.approx(0.3)
    slow = retime.on_clock(plan, retime.held(48, first=5))
    assert slow.rig.poses[0].frame == 25
    assert nod(slow, 25) == pytest.approx(0.3)


def test_another_body_stands_on_the_same_ground_in_the_same_plates() -> None:
    plan = tractor_plan()
    other = another_body(plan, np.random.default_rng(5))
    figure = other.rig.figure
    assert figure.silhouette.bounds[3] == pytest.approx(plan.rig.ground)
    assert figure.height == pytest.approx(plan.rig.figure.height)
    heads = [f.bones[BONE_IDS.index("head")] for f in (figure, plan.rig.figure)]
    tall, was = (b.region.bounds[3] - b.region.bounds[1] for b in heads)
    assert tall != pytest.approx(was, rel=1e-2)
    assert [c.scale for c in other.assignment.covers] == [
        c.scale for c in plan.assignment.covers
    ]
    left = next(b for b in figure.bones if b.id == "shank_l")
    right = next(b for b in figure.bones if b.id == "shank_r")
    lengths = [np.hypot(*(np.asarray(b.end) - np.asarray(b.start))) for b in (left, right)]
    assert lengths[0] == pytest.approx(lengths[1])


def test_what_is_tried_together_is_planned_once(monkeypatch: pytest.MonkeyPatch) -> None:
    plan, made = tractor_plan(), list[recast.Cast]()
    place = recast.other_places(plan, "plate_00")[0]
    real = recast.animated

    def counted(cast: recast.Cast) -> ShotPlan:
        made.append(cast)
        return real(cast)

    monkeypatch.setattr(recast, "animated", counted)
    parts = (
        Trial("cue", ("plate_20",), 2),
        Trial("relaid", ("plate_00",), covers=(place,)),
        Trial("length", frames=60),
    )
    both = plan_of(tractor_case(), Trial("together", parts=parts))
    assert both is not None
    assert len(made) == 1
    assert both.rig.shot.n_frames == 60
    assert both.assignment.covers[0].region == place.region
    starts = [
        next(t.start for t in found.rig.tracks if t.piece == "plate_20")
        for found in (both, real(made[0]))
    ]
    assert starts[0] - starts[1] == 2
    assert not is_retimed(Trial("together", parts=parts))
    assert is_retimed(Trial("together", parts=parts[:1]))
