"""Between two frames nothing escapes the certificate, however briefly it goes wrong."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import box
from shapely.affinity import rotate, translate

from panelbeater.rig import RigMotion, sample_rig
from panelbeater.scores import score_shot
from panelbeater.scores.between import Allowed, certify
from panelbeater.scores.promises.floats import floating
from panelbeater.terms.arrays import Flags, Floats
from tests.exports.small_rig import small_rig
from tests.scores.moving import ALLOWED, MOMENT, PLATE, Moving, first_time, verdict
from tests.scores.shots import still_scene


def test_unit_boxes_that_meet_at_a_third_of_the_frame_meet_then() -> None:
    still, coming = box(0, 0, 1, 1), box(2, 0, 3, 1)
    moving = Moving((lambda _: still, lambda t: translate(coming, -3 * t)), (0.0, 3.0))
    assert 1 / 3 <= first_time(verdict(moving), "clash") <= 1 / 3 + 2 * MOMENT


def test_thin_bars_that_cross_in_a_blink_are_seen() -> None:
    # 0.01 wide both, at a closing speed of 4: over within 1/200 of the frame.
    still, coming = box(-0.005, 0, 0.005, 1), box(-0.005, 0, 0.005, 1)
    moving = Moving(
        (lambda _: still, lambda t: translate(coming, 4 * (t - 0.5005))), (0.0, 4.0)
    )
    starts = 0.5005 - 0.01 / 4
    assert starts <= first_time(verdict(moving), "clash") <= starts + 2 * MOMENT


def test_bars_that_miss_each_other_by_half_their_width_are_certified_apart() -> None:
    still, coming = box(-0.005, 0, 0.005, 1), box(-0.005, 1.005, 0.005, 2)
    moving = Moving(
        (lambda _: still, lambda t: translate(coming, 4 * (t - 0.5005))), (0.0, 4.0)
    )
    assert verdict(moving).is_certified


def test_a_turning_bar_reaches_an_angle_when_it_should() -> None:
    length, omega, phi = 1.0, 1.5, 1.0
    bar, post = box(0, -0.001, length, 0.001), box(-0.01, -0.001, 0.01, 0.001)
    goal = rotate(translate(post, 0.9), phi, origin=(0, 0), use_radians=True)
    moving = Moving(
        (lambda _: goal, lambda t: rotate(bar, omega * t, origin=(0, 0), use_radians=True)),
        (0.0, omega * length),
    )
    # Both are 0.001 thick either side of their line: they meet a little early.
    early = 0.002 / 0.89 / omega
    first = first_time(verdict(moving), "clash")
    assert phi / omega - early <= first <= phi / omega + 2 * MOMENT


def test_a_piece_that_leaves_the_body_and_is_back_by_the_next_frame_floats() -> None:
    body, tile = box(0, 0, 1, 1), box(0.5, 0, 1.5, 1)
    moving = Moving((lambda t: translate(tile, 2.4 * t * (1 - t)),), (2.4,), body)
    # 2.4 t (1 - t) passes 0.51 at t = 0.30667.
    expected = 0.5 - (0.25 - 0.51 / 2.4) ** 0.5
    assert expected <= first_time(verdict(moving), "float") <= expected + 2 * MOMENT


def test_a_piece_that_dips_below_the_ground_line_is_told_with_how_deep() -> None:
    body = box(0, 0, 1, 1)
    moving = Moving((lambda t: box(0, 0, 1, 1 + 4 * t * (1 - t)),), (4.0,), body)
    found = verdict(moving, replace(ALLOWED, floor=1.75))
    assert first_time(found, "ground") == pytest.approx(0.25, abs=2 * MOMENT)
    assert found.lines()[1].endswith("0.25 units lower than allowed")


def test_tiles_that_lie_side_by_side_at_one_depth_do_not_clash() -> None:
    left, right = box(0, 0, 1, 1), box(1, 0, 2, 1)
    found = verdict(Moving((lambda _: left, lambda _: right), (0.0, 0.0)))
    assert found.is_certified
    assert found.n_moments == 2  # nothing moves: both frames say it all


def test_what_stays_at_its_limit_is_called_unsure_not_certified() -> None:
    moving = Moving((lambda t: box(0, 0, 1, 1 + t),), (1.5,), box(0, 0, 1, 1))
    found = verdict(moving, replace(ALLOWED, floor=2.0))
    assert not found.is_certified
    assert found.unsure == ((0, "ground"),)


def test_the_rig_is_certified_through_swaps_bends_and_hidden_pieces() -> None:
    rig, _ = small_rig(pieces_change=True)
    rest = replace(rig, tracks=tuple(replace(t, bone="torso") for t in rig.tracks))
    for one in (rig, rest):
        assert audited(RigMotion(one), 24, 4) > 0


@pytest.mark.slow
def test_ten_thousand_moments_show_nothing_that_the_certificate_missed() -> None:
    rig, _ = small_rig(pieces_change=True)
    assert audited(RigMotion(rig), 24, 435) > 0


def audited(motion: RigMotion, n_frames: int, n_between: int) -> int:
    """Moments at which a piece floats; the certificate must have told of each."""
    rig = motion.rig
    height = rig.figure.height
    allowed = replace(
        ALLOWED, body_contact=0.005 * height, piece_contact=0.0005 * height,
        floor=rig.ground + 0.002 * height, clash_area=1.0,
    )  # fmt: skip
    pieces = [track.piece for track in rig.tracks]
    bones = [bone.id for bone in rig.figure.bones]
    found = certify(motion, pieces, bones, allowed)
    first = {int(b.frames[0]): b.frames[0] for name, b in found.broken if name == "float"}
    n_loose = 0
    for frame in range(n_frames - 1):
        times = frame + np.arange(n_between) / n_between
        loose = times[loose_at(motion, times, frame, allowed)]
        n_loose += len(loose)
        # At whole frames the promise of the frames tells it, here the first moment after.
        if len(loose) and loose[0] != frame:
            assert first[frame] - MOMENT <= loose[0]
    return n_loose


def loose_at(motion: RigMotion, times: Floats, frame: int, allowed: Allowed) -> Flags:
    n, seen = len(motion.rig.tracks), motion.visible()[frame]
    out = []
    for shapes in motion.shapes(times, np.full(len(times), frame)):
        drawn = np.array(shapes, dtype=object)
        contact, touch = allowed.body_contact, allowed.piece_contact
        loose = floating(
            drawn[:n], seen, drawn[n:], body_contact=contact, piece_contact=touch
        )
        out.append(loose.any())
    return np.array(out)


def test_no_point_of_the_rig_goes_farther_than_its_bound_says() -> None:
    rig, _ = small_rig(pieces_change=True)
    motion = RigMotion(rig)
    frames = np.arange(23)
    times = frames.astype(np.float64)
    bound = motion.travel(times, times + 1)  # (frames, shapes, views)
    steps = 12
    way = np.zeros(bound.shape[:2])
    for k in range(steps):
        before, after = (motion.shapes(times + (k + end) / steps, frames) for end in (0, 1))
        for f in frames:
            way[f] += [
                np.hypot(*(shapely.get_coordinates(a) - shapely.get_coordinates(b)).T).max()
                for a, b in zip(before[f], after[f], strict=True)
            ]
    # Straight chords between samples are a little shorter than the way itself.
    assert (way <= bound[..., -1] + 1e-9).all()
    assert (bound[..., -1].sum(axis=0) <= 10 * way.sum(axis=0)).all()  # and means something


def test_seen_from_its_own_bone_a_landed_piece_does_not_move() -> None:
    rig, _ = small_rig()
    track = rig.tracks[0]
    bone = [b.id for b in rig.figure.bones].index(track.bone)
    way = RigMotion(rig).travel(np.array([track.end + 0.0]), np.array([track.end + 1.0]))
    assert way[0, 0, bone] == 0


def test_a_verdict_with_the_motion_at_hand_tells_what_holds_between_frames() -> None:
    scene = still_scene()
    shot = scene.shot()
    assert score_shot(shot).between is None
    outlines = [piece.outline for piece in shot.frames[0].pieces]
    looks = tuple(lambda _, still=still: still for still in outlines)
    moving = Moving(looks, (0.0,) * 3, box(10, 2, 30, 100), n_frames=8)
    scene.bones = {"foot_l": scene.bones["foot_l"]}
    for name in scene.looks:
        for frame in range(8):
            scene.change(name, frame, bone="foot_l")
    scores = score_shot(scene.shot(), between=moving)
    assert scores.between is not None
    assert scores.between.is_certified
    assert "certified between frames: at no moment" in "\n".join(scores.lines())
    assert scores.to_json()["between_frames"] == {
        "certified": True, "moments": 8, "broken": [], "unsure": [],
    }  # fmt: skip


def test_a_motion_that_is_not_that_of_the_frames_certifies_nothing() -> None:
    elsewhere = Moving((lambda _: box(0, 0, 1, 1),) * 3, (0.0,) * 3, PLATE, n_frames=8)
    assert score_shot(still_scene().shot(), between=elsewhere).between is None


def test_the_sample_says_whose_look_a_frame_has() -> None:
    rig, _ = small_rig(pieces_change=True)
    swap = next(t.swap for t in rig.tracks if t.swap is not None)
    i = next(i for i, t in enumerate(rig.tracks) if t.swap is not None)
    assert sample_rig(rig, np.array([swap * 1.0])).redrawn[0, i]
    until, since = (
        RigMotion(rig).shapes(np.array([swap * 1.0]), np.array([f]))[0][i]
        for f in (swap - 1, swap)
    )
    assert not until.equals(since)
