"""Ideas about time: a longer shot, a softer ease, a hold, a piece on another cue."""

from __future__ import annotations

import numpy as np

from panelbeater.exports import LIMB_NAMES
from panelbeater.stress.case import Case
from panelbeater.stress.idea import CROWD, Idea, Missed
from panelbeater.stress.motion import kinks, still_limit
from panelbeater.stress.plain import FAULT, say
from panelbeater.stress.retime import room_for
from panelbeater.stress.trials import Trial
from panelbeater.terms.figure import BONE_TREE

LATE = 3
"""Frames by which another cue must differ to be worth trying."""
BUSY = ("tracking load", "bundles", "bundles at most", "step")


def longer(case: Case, missed: Missed) -> list[Idea]:
    """Half a second or a second more, or a slow passage where most is to follow."""
    crowd = tuple(name for name in BUSY if name in missed)
    if not crowd and "kink" not in missed:
        return []
    shot = case.plan.rig.shot
    why = FAULT[crowd[0] if crowd else "kink"]
    more = [
        Idea(
            f"give the shot {shot.n_frames + extra} frames instead of {shot.n_frames}",
            why,
            Trial("length", frames=shot.n_frames + extra),
            (*crowd, "kink"),
            f"frames = {shot.n_frames + extra}",
        )
        for extra in (shot.fps // 2, shot.fps)
    ]
    load = next((s.series for s in case.scores.motion if s.name == BUSY[0]), None)
    if not load or max(load) <= 0:
        return more
    at = int(np.argmax(load))
    linger = Idea(
        f"linger on frame {at + 1} for 6 more frames, easing in and out",
        f"frame {at + 1} has the most to follow",
        Trial("linger", at=at, frames=6),
        crowd,
    )
    return [more[0], linger, more[1]]


def eased(case: Case, missed: Missed) -> list[Idea]:
    """A softer spacing: less speed in the middle of every move."""
    name = "ease-in-out"
    if not {"tracking load", "step"} & set(missed) or case.plan.rig.shot.ease == name:
        return []
    return [
        Idea(
            "ease the pieces in and out more softly, with less speed in between",
            "the pieces are fastest where most is to follow",
            Trial("ease", name=name),
            ("tracking load", "step"),
            f'ease = "{name}"',
        )
    ]


def held(case: Case, missed: Missed) -> list[Idea]:
    """End poses that stand too short to be read."""
    out = []
    for name, kind, pose in (
        ("hold of the vehicle", "hold_first", "vehicle"),
        ("hold of the robot", "hold_last", "robot"),
    ):
        target = missed[name].target if name in missed else None
        if target is None:
            continue
        short = int(np.ceil((target.low or 0) - missed[name].value))
        words = f"hold the {pose} for {short} more frames"
        out.append(Idea(words, FAULT[name], Trial(kind, frames=short), (name,)))
    return out


def cues(case: Case, missed: Missed) -> list[Idea]:
    """The straggler of a limb with the rest, and the sharpest corner at another time."""
    out: list[Idea] = []
    if set(CROWD) & set(missed):
        for by, limb, piece in _stragglers(case)[:1]:
            if abs(by) >= LATE:
                words = f"let {say(piece)} leave {_when(by)}, with the rest of the {limb}"
                why = "it moves apart from its own limb"
                out.append(_cue(words, why, piece, by, "bundles"))
    if "kink" in missed:
        bends = kinks(case.plan, still_limit(case))
        frame, i = np.unravel_index(int(bends.argmax()), bends.shape)
        track = case.plan.rig.tracks[int(i)]
        why = f"its path has the sharpest corner, at frame {int(frame) + 1}"
        for by in (room_for(case.plan, track, -6), room_for(case.plan, track, 6)):
            if abs(by) >= LATE:
                words = f"let {say(track.piece)} leave {_when(by)}"
                out.append(_cue(words, why, track.piece, by, "kink"))
    return out


def _cue(words: str, why: str, piece: str, by: int, helps: str) -> Idea:
    return Idea(words, why, Trial("cue", (piece,), by), (helps,))


def _when(by: int) -> str:
    return f"{abs(by)} frames {'later' if by > 0 else 'earlier'}"


def _stragglers(case: Case) -> list[tuple[int, str, str]]:
    """Frames to add, limb, piece: the farthest off its limb's cue first."""
    limb = {name: controller for name, _, controller in BONE_TREE}
    off = []
    for controller in dict.fromkeys(limb.values()):
        mine = [t for t in case.plan.rig.tracks if limb[t.bone] == controller]
        if len(mine) > 2:
            usual = int(np.median([t.start for t in mine]))
            off += [
                (room_for(case.plan, t, usual - t.start), LIMB_NAMES[controller], t.piece)
                for t in mine
            ]
    return sorted(off, key=lambda found: (-abs(found[0]), found[2]))
