"""What is on the bench: a plan's frames as the judge reads them, without their file."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from panelbeater.deliver import frames_of
from panelbeater.stress.case import take_of
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
