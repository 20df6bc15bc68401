"""A stowed piece goes out of sight unseen: covered, or small and on the move."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from panelbeater.rig import hide_stowed, sample_rig
from panelbeater.rig.vanishing import vanish_frame
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.rig import Rig, Sample
from panelbeater.terms.timing import FrameSpan
from tests.exports.small_rig import small_covers, small_rig

PANE, BAR, TUB = 3, 5, 0


def layout(*stowed: int) -> Assignment:
    covers = [replace(cover, stowed=i in stowed) for i, cover in enumerate(small_covers())]
    return Assignment(tuple(covers), 0.0, 0.0, "by hand", len(covers))


def shot() -> tuple[Rig, Sample]:
    rig, sample = small_rig()
    tracks = [replace(t, bending=FrameSpan(t.start + 3, t.end - 3)) for t in rig.tracks]
    return replace(rig, tracks=tuple(tracks)), sample


def test_a_layout_without_stowed_pieces_is_left_alone() -> None:
    rig, sample = shot()
    assert hide_stowed(rig, sample, layout()) is rig


def test_a_stowed_piece_vanishes_while_it_moves_and_stays_gone() -> None:
    rig, sample = shot()
    done = hide_stowed(rig, sample, layout(BAR))
    track = done.tracks[BAR]
    assert track.vanish is not None
    assert track.start < track.vanish <= track.end
    seen = sample_rig(done, np.arange(24.0)).visible
    assert seen[:, BAR].tolist() == [f < track.vanish for f in range(24)]
    assert np.delete(seen, BAR, axis=1).all()


@pytest.mark.parametrize("at", [8, 11])
def test_it_vanishes_at_once_where_it_is_covered(at: int) -> None:
    track = replace(shot()[0].tracks[BAR], start=4, end=20, bending=FrameSpan(7, 17))
    hidden = np.zeros(24, dtype=bool)
    hidden[at : at + 2] = True
    nobody = np.zeros(24, dtype=bool)
    assert vanish_frame(track, hidden, nobody) == at + 1
    # A single covered frame is a flicker: it would be seen to be gone in the next.
    hidden[at + 1] = False
    assert vanish_frame(track, hidden, nobody) == 17


def test_the_piece_the_eye_follows_does_not_vanish_under_it() -> None:
    track = replace(shot()[0].tracks[BAR], start=4, end=20, bending=FrameSpan(7, 17))
    nothing = np.zeros(24, dtype=bool)
    followed = np.zeros(24, dtype=bool)
    followed[15:19] = True
    assert vanish_frame(track, nothing, followed) == 19
    followed[:] = True
    assert vanish_frame(track, nothing, followed) == track.end


def test_a_covered_piece_is_found_by_its_outline() -> None:
    """The pane lies over the tub's place in the stack; moved onto the tub it hides."""
    rig, sample = shot()
    depth = rig.depth.copy()
    depth[:, [TUB, PANE]] = depth[:, [PANE, TUB]]  # the tub in front
    placed = sample.stage_from_piece.copy()
    placed[9:, PANE] = placed[9:, TUB] @ np.diag([0.3, 0.3, 1.0])
    moved = replace(sample, stage_from_piece=placed)
    done = hide_stowed(replace(rig, depth=depth), moved, layout(PANE))
    assert done.tracks[PANE].vanish == max(10, rig.tracks[PANE].bending.start + 1)
