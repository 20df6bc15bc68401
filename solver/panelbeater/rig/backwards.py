"""Turns a rig round in time, for a shot that plays from robot to vehicle."""

from __future__ import annotations

from dataclasses import replace

from panelbeater.terms.pose import Pose
from panelbeater.terms.rig import Rig, Track
from panelbeater.terms.timing import FrameSpan


def turned_round(rig: Rig) -> Rig:
    """The same motion with its last frame first; twice is the rig itself.

    Tracks keep the one rig equation: u still rises from 0 to 1 over the shot as it plays,
    only their keys now lead from the robot to the vehicle. Spans of bends and frames of
    swaps and vanishings count as it plays; `sample_rig` knows from `Rig.shot` which way
    they lead.
    """
    last = rig.shot.n_frames - 1
    action = Pose(rig.action.root[::-1], rig.action.turns[::-1], rig.action.scales[::-1])
    tracks = tuple(_turned_round(track, last) for track in rig.tracks)
    return replace(rig, action=action, tracks=tracks, depth=rig.depth[::-1])


def _turned_round(track: Track, last: int) -> Track:
    bending = FrameSpan(last - track.bending.stop, last - track.bending.start)
    return replace(
        track,
        start=last - track.end,
        end=last - track.start,
        key_u=(1.0 - track.key_u)[::-1],
        key_channels=track.key_channels[::-1],
        bending=bending,
        # The first frame of the other drawing becomes the first one after the last of it.
        swap=None if track.swap is None else last - track.swap + 1,
        vanish=None if track.vanish is None else last - track.vanish + 1,
    )
