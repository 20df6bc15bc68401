"""What is worth trying for what is wrong with a plan, in the trade's words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from panelbeater.scores import Score
from panelbeater.stress import recast
from panelbeater.stress.case import Case
from panelbeater.stress.motion import kinks, size_changes, still_limit
from panelbeater.stress.plain import FAULT, say
from panelbeater.stress.trials import Trial
from panelbeater.terms.figure import BONE_TREE

MOST_IDEAS = 11
"""Tried for one plan; each costs a re-plan."""


@dataclass(frozen=True, slots=True, eq=False)
class Idea:
    """Something to try, in the trade's words, and the scores it is meant to help."""

    words: str
    why: str
    trial: Trial
    helps: tuple[str, ...]


def ideas_for(case: Case) -> tuple[Idea, ...]:
    """The most promising things to try for what is wrong with this plan."""
    missed = {
        score.name: score
        for score in (*case.scores.layout, *case.scores.motion)
        if not score.on_target
    }
    wanted = [
        *_about_time(case, missed),
        *_about_size(case, missed),
        *_about_limbs(case, missed),
        *_about_corners(case, missed),
        *_about_sight(case, missed),
        *_about_seams(case),
    ]
    return tuple(wanted)


def _about_time(case: Case, missed: dict[str, Score]) -> list[Idea]:
    crowd = [
        n for n in missed if n in ("bundles", "bundles at most", "tracking load", "step")
    ]
    shot = case.plan.rig.shot
    series = {s.name: s.series for s in case.scores.motion if s.series}
    load = series.get("tracking load", (0.0,))
    at = int(np.argmax(load))
    out = []
    longer = (round(shot.n_frames * 4 / 3), round(shot.n_frames * 5 / 3))
    for frames in longer:
        out.append(
            Idea(
                f"give the shot {frames} frames instead of {shot.n_frames}",
                FAULT[crowd[0]] if crowd else "there is much to follow at once",
                Trial("length", frames=frames),
                tuple(crowd),
            )
        )
    if max(load) > 0:
        for extra in (6, 12):
            out.append(
                Idea(
                    f"linger on frame {at + 1} for {extra} more frames, easing in and out",
                    f"frame {at + 1} has the most to follow",
                    Trial("linger", at=at, frames=extra),
                    tuple(crowd),
                )
            )
    for name, kind, pose in (
        ("hold of the vehicle", "hold_first", "vehicle"),
        ("hold of the robot", "hold_last", "robot"),
    ):
        if name in missed:
            low = missed[name].target
            short = int(np.ceil((low.low or 0) - missed[name].value)) if low else 1
            out.append(
                Idea(
                    f"hold the {pose} for {short} more frames",
                    "its pose is not held long enough to be read",
                    Trial(kind, frames=short),
                    (name,),
                )
            )
    return out


def _about_size(case: Case, missed: dict[str, Score]) -> list[Idea]:
    if "secrecy" not in missed and "kept vehicle" not in missed:
        return []
    change = size_changes(case.plan).sum(axis=0)
    pieces = case.plan.rig.drawing.pieces
    covers = case.plan.assignment.covers
    resized = [
        pieces[i].id
        for i in np.argsort(-change, kind="stable")
        if change[i] > 0 and (abs(covers[i].scale - 1) > 0.02 or covers[i].stretch > 1.02)
    ]
    out = [
        Idea(
            f"keep {say(name)} at drawn size",
            "its change of size is the plainest to the eye",
            Trial("drawn_size", (name,)),
            ("secrecy",),
        )
        for name in resized[:2]
    ]
    if len(resized) > 3:
        out.append(
            Idea(
                f"keep all {len(resized)} resized pieces at drawn size",
                "much of the change of size is seen",
                Trial("drawn_size", tuple(resized)),
                ("secrecy", "kept vehicle"),
            )
        )
    return out


def _about_limbs(case: Case, missed: dict[str, Score]) -> list[Idea]:
    """Stragglers on another cue, and the longest traveller on another limb."""
    if not {"bundles", "bundles at most", "tracking load", "kink"} & set(missed):
        return []
    tracks = case.plan.rig.tracks
    limb = {name: controller for name, _, controller in BONE_TREE}
    out: list[Idea] = []
    off = []
    for controller in dict.fromkeys(limb.values()):
        mine = [t for t in tracks if limb[t.bone] == controller]
        if len(mine) > 2:
            usual = int(np.median([t.start for t in mine]))
            off += [
                (abs(t.start - usual), usual - t.start, controller, t.piece) for t in mine
            ]
    for late, by, controller, piece in sorted(off, reverse=True)[:2]:
        if late >= 3:
            way = "later" if by > 0 else "earlier"
            out.append(
                Idea(
                    f"let {say(piece)} leave {abs(by)} frames {way}, with the rest of "
                    f"the {LIMBS[controller]}",
                    "it moves apart from its own limb",
                    Trial("cue", (piece,), by),
                    ("bundles",),
                )
            )
    paths = np.array(
        [
            np.linalg.norm(np.diff(t.key_channels[:, :2], axis=0), axis=1).sum()
            for t in tracks
        ]
    )
    far = [int(i) for i in np.argsort(-paths, kind="stable")[:2]]
    for i in far:
        for cover in recast.other_limbs(case.plan, tracks[i].piece, 1):
            out.append(
                Idea(
                    f"let {say(cover.piece)} leave with the {say_bone(cover.region)}",
                    f"it has the longest way of all to the {say_bone(tracks[i].bone)}",
                    Trial("limb", (cover.piece,), cover=cover),
                    ("kink",),
                )
            )
    return out


def _about_corners(case: Case, missed: dict[str, Score]) -> list[Idea]:
    if "kink" not in missed:
        return []
    bends = kinks(case.plan, still_limit(case))
    frame, i = np.unravel_index(int(bends.argmax()), bends.shape)
    piece = case.plan.rig.tracks[int(i)].piece
    return [
        Idea(
            f"let {say(piece)} leave {abs(by)} frames {'later' if by > 0 else 'earlier'}",
            f"its path has the sharpest corner, at frame {int(frame) + 1}",
            Trial("cue", (piece,), by),
            ("kink",),
        )
        for by in (-6, 6)
    ]


def _about_sight(case: Case, missed: dict[str, Score]) -> list[Idea]:
    if not {"signature pieces kept", "landmark legibility"} & set(missed):
        return []
    hidden = []
    for piece in case.plan.rig.drawing.pieces:
        if piece.signature and recast.covered_in_vehicle(case.plan, piece.id) < 0.01:
            hidden.append(piece.id)
    return [
        Idea(
            f"keep {say(name)} in front",
            "the vehicle is known by it",
            Trial("front", (name,)),
            ("signature pieces kept", "landmark legibility"),
        )
        for name in hidden[:3]
    ]


def _about_seams(case: Case) -> list[Idea]:
    """Pieces that lie across a joint, by the area that cannot bend with it."""
    plan = case.plan
    regions = {bone.id: bone.region for bone in plan.rig.figure.bones}
    last = case.shot.frames[-1]
    across = []
    for drawn, piece in zip(last.pieces, plan.rig.drawing.pieces, strict=True):
        own = regions[drawn.region or drawn.bone]
        strange = (
            drawn.outline.intersection(plan.rig.figure.silhouette).difference(own).area
        )
        if piece.kind not in ("wheel", "lamp"):
            across.append((strange, drawn.id, drawn.bone))
    return [
        Idea(
            f"split {say(name)}, so that each part rides the bone it lies on",
            f"it lies across the joint of the {say_bone(bone)} and cannot bend",
            Trial("split", (name,)),
            ("own-region coverage",),
        )
        for area, name, bone in sorted(across, reverse=True)[:2]
        if area > 0.004 * plan.rig.figure.silhouette.area
    ]


LIMBS = {
    "arm_l": "left arm",
    "arm_r": "right arm",
    "leg_l": "left leg",
    "leg_r": "right leg",
    "waist": "waist",
    "torso": "torso",
    "head": "head",
}


def say_bone(bone: str) -> str:
    """`left thigh` for `thigh_l`."""
    for ending, side in (("_l", "left "), ("_r", "right ")):
        if bone.endswith(ending):
            return side + bone.removesuffix(ending).replace("_", " ")
    return bone.replace("_", " ")
