"""What is on the bench: frames as the judge reads them, and verdicts taken over."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from panelbeater.scores import score_shot
from panelbeater.stress import bodies, recast, retime
from panelbeater.stress.case import take_of
from panelbeater.stress.trials import figures_of
from panelbeater.verdict import allowances_of, frames_of
from tests.stress.bench import tractor_case, tractor_plan


def test_a_retake_is_what_its_frames_file_says() -> None:
    plan = tractor_plan()
    redrawn = np.array(plan.sample.redrawn)
    redrawn[20:, 2] = True
    plan = replace(plan, sample=replace(plan.sample, redrawn=redrawn))
    take, (read, _) = take_of(plan, tractor_case().shot), frames_of(plan)
    for mine, theirs in zip(take.frames, read.frames, strict=True):
        assert (mine.frame, mine.master) == (theirs.frame, theirs.master)
        for bone, other in zip(mine.bones, theirs.bones, strict=True):
            assert (bone.id, bone.controller) == (other.id, other.controller)
            assert bone.outline.equals_exact(other.outline, 1e-6)
        for a, b in zip(mine.pieces, theirs.pieces, strict=True):
            assert (a.id, a.bone, a.region, a.depth) == (b.id, b.bone, b.region, b.depth)
            assert (a.visible, a.is_redrawn) == (b.visible, b.is_redrawn)
            assert a.scale == pytest.approx(b.scale)
            assert a.outline.equals_exact(b.outline, 1e-6)
    assert [frame.pieces[2].is_redrawn for frame in take.frames] == redrawn[:, 2].tolist()


def test_a_verdict_taken_over_is_the_one_judged_afresh() -> None:
    case = tractor_case()
    later = take_of(retime.on_cue(case.plan, ("plate_00",), 3), case.shot)
    allowed = allowances_of(case.plan)
    fresh = score_shot(later, allowances=allowed)
    taken = score_shot(later, allowances=allowed, earlier=(case.shot, case.scores))
    assert taken.motion == fresh.motion
    assert taken.promises == fresh.promises
    assert [s.name for s in taken.layout] == [s.name for s in fresh.layout]
    for mine, theirs in zip(taken.layout, fresh.layout, strict=True):
        assert mine.value == pytest.approx(theirs.value, abs=1e-6)


def test_a_layout_that_changed_is_judged_afresh() -> None:
    case = tractor_case()
    frames = list(case.shot.frames)
    first, *rest = frames[-1].pieces
    pieces = [replace(first, visible=False), *rest]
    frames[-1] = replace(frames[-1], pieces=tuple(pieces))
    bared = replace(case.shot, frames=tuple(frames))
    again = score_shot(bared, earlier=(case.shot, case.scores))
    assert again.layout == score_shot(bared).layout
    assert again.layout != case.scores.layout


def test_a_take_on_another_body_says_the_same_as_its_written_frames() -> None:
    case = tractor_case()
    other = recast.animated(
        bodies.another_body(recast.cast_of(case.plan), np.random.default_rng(1))
    )
    take, (written, _) = take_of(other, case.shot), frames_of(other)
    allowed = allowances_of(other)
    mine, theirs = (
        figures_of(score_shot(shot, allowances=allowed)) for shot in (take, written)
    )
    assert mine.kept == theirs.kept
    assert mine.values == pytest.approx(theirs.values, abs=1e-5)


def test_a_quick_verdict_leaves_out_nothing_that_has_a_target() -> None:
    shot = tractor_case().shot
    whole, quick = score_shot(shot), score_shot(shot, quick=True)
    left_out = [
        s
        for s in (*whole.layout, *whole.motion)
        if s.name not in {q.name for q in (*quick.layout, *quick.motion)}
    ]
    names = {s.name.split(",")[0] for s in left_out}
    assert names == {"bend test", "symmetry", "bare body"}
    assert all(s.target is None for s in left_out)
    assert quick.promises == whole.promises
    assert quick.motion == tuple(s for s in whole.motion if s not in left_out)


def test_picked_frames_are_judged_as_stills() -> None:
    shot = tractor_case().shot
    whole, stills = score_shot(shot, quick=True), score_shot(shot, quick=True, stills=True)
    assert stills.motion == ()
    assert (stills.promises, stills.layout) == (whole.promises, whole.layout)
