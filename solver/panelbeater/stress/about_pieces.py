"""Ideas about pieces: on another limb, in another place, hidden, as drawn, or cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from panelbeater.exports import LIMB_NAMES
from panelbeater.stress import recast
from panelbeater.stress.case import Case
from panelbeater.stress.idea import CROWD, Idea, Missed
from panelbeater.stress.motion import kinks, size_changes, still_limit
from panelbeater.stress.plain import say, say_all, say_bone
from panelbeater.stress.trials import Trial
from panelbeater.terms.assignment import Cover
from panelbeater.terms.drawing import Piece
from panelbeater.terms.figure import BONE_TREE

LIMB: dict[str, str] = {name: controller for name, _, controller in BONE_TREE}
ACROSS = 0.004
"""Share of the figure that a piece must show on strange limbs to be worth a cut."""
SMALL = 0.02
"""Share of the figure up to which a piece may be missed when it is hidden."""


def corners(case: Case, missed: Missed) -> list[Idea]:
    """Pieces whose paths turn most sharply, each with another limb."""
    if not {*CROWD, "kink"} & set(missed):
        return []
    bends = kinks(case.plan, still_limit(case)).max(axis=0)
    out: list[Idea] = []
    for i in np.argsort(-bends, kind="stable")[:4].tolist():
        piece = case.plan.rig.drawing.pieces[i]
        where = f"{say(piece.id)} to the {say_bone(_region(case, i))}"
        why = f"the way of {where} turns by {bends[i]:.0f} degrees"
        out += elsewhere(case, piece, why, ("kink", *CROWD), n_best=1)
    return out


def crowd(case: Case, missed: Missed) -> list[Idea]:
    """Fewer pieces on the fullest limb: its least piece hidden, or with another limb."""
    if not set(CROWD) & set(missed):
        return []
    pieces, covers = case.plan.rig.drawing.pieces, case.plan.assignment.covers
    count = Counter(LIMB[cover.region] for cover in covers if not cover.stowed)
    limb = max(LIMB_NAMES, key=lambda name: count[name])
    mine = [i for i, c in enumerate(covers) if LIMB[c.region] == limb and not c.stowed]
    small = [
        i for i in sorted(mine, key=lambda i: (covers[i].gain, i))
        if pieces[i].kind in ("panel", "other") and not pieces[i].signature
    ]  # fmt: skip
    out: list[Idea] = []
    for i in small[:2]:
        why = (
            f"the {LIMB_NAMES[limb]} carries {count[limb]} pieces, more than any other limb"
        )
        if covers[i].gain < SMALL and not pieces[i].wishes.pin:
            away = recast.stowed(case.plan, pieces[i].id)
            words = f"let {say(pieces[i].id)} end hidden behind the body"
            trial = Trial("relaid", (pieces[i].id,), covers=(away,))
            line = f"piece list: {pieces[i].id} with stow yes"
            out.append(Idea(words, why, trial, CROWD, line))
        out += elsewhere(case, pieces[i], why, CROWD, n_best=1)
    return out


def resized(case: Case, missed: Missed) -> list[Idea]:
    """Pieces whose change of size is the plainest, at drawn size."""
    if "secrecy" not in missed:
        return []
    change = size_changes(case.plan).sum(axis=0)
    covers = case.plan.assignment.covers
    names = [
        covers[i].piece
        for i in np.argsort(-change, kind="stable").tolist()
        if change[i] > 0 and (abs(covers[i].scale - 1) > 0.02 or covers[i].stretch > 1.02)
    ]
    few = [names[:3], names[:1], names[1:2], names[:6], names]
    why = "the change of size is the plainest to the eye"
    return [
        Idea(
            f"keep {say_all(some)} at drawn size",
            why,
            Trial("drawn_size", tuple(some)),
            ("secrecy",),
            f"piece list: {', '.join(some)} with scale_min 1, scale_max 1, stretch_max 1",
        )
        for some in few
        if some
    ]


def seams(case: Case, missed: Missed) -> list[Idea]:
    """Pieces that lie across a joint, by the area that cannot bend with it."""
    del missed  # a piece that cannot bend harms the next shot, if not this one
    plan = case.plan
    regions = {bone.id: bone.region for bone in plan.rig.figure.bones}
    across = []
    for drawn, piece in zip(
        case.shot.frames[-1].pieces, plan.rig.drawing.pieces, strict=True
    ):
        own = regions[drawn.region or drawn.bone]
        shown = drawn.outline.intersection(plan.rig.figure.silhouette)
        if piece.kind not in ("wheel", "lamp"):
            across.append((shown.difference(own).area, drawn.id, drawn.bone))
    return [
        Idea(
            f"split {say(name)}, so that each part rides the bone it lies on",
            f"it lies across the joint of the {say_bone(bone)} and cannot bend",
            Trial("split", (name,)),
            ("own-region coverage",),
        )
        for area, name, bone in sorted(across, reverse=True)[:2]
        if area > ACROSS * plan.rig.figure.silhouette.area
    ]


def elsewhere(
    case: Case, piece: Piece, why: str, helps: tuple[str, ...], *, n_best: int
) -> list[Idea]:
    """The piece on its best other regions, one a limb; a mirror partner goes along."""
    if piece.wishes.pin:
        return []
    out: list[Idea] = []
    limbs = set()
    for cover in recast.other_places(case.plan, piece.id):
        covers = recast.with_twin(case.plan, cover)
        if LIMB[cover.region] in limbs or not covers:
            continue
        limbs.add(LIMB[cover.region])
        names = tuple(c.piece for c in covers)
        trial = Trial("relaid", names, covers=covers)
        out.append(Idea(_move(case, covers), why, trial, helps, _pins(covers)))
        if len(out) == n_best:
            break
    return out


def _move(case: Case, covers: Sequence[Cover]) -> str:
    """`let the door leave with the left forearm`, or lie elsewhere on its own limb."""
    now = {cover.piece: cover.region for cover in case.plan.assignment.covers}
    first = covers[0]
    if len(covers) > 1:
        both = " and ".join(say(c.piece) for c in covers)
        where = " and the ".join(say_bone(c.region) for c in covers)
        return f"let {both} leave with the {where}"
    if LIMB[now[first.piece]] == LIMB[first.region]:
        was = say_bone(now[first.piece])
        return f"lay {say(first.piece)} on the {say_bone(first.region)}, not the {was}"
    return f"let {say(first.piece)} leave with the {say_bone(first.region)}"


def _pins(covers: Sequence[Cover]) -> str:
    return "[pin] " + ", ".join(f'"{c.piece}" = "{c.region}"' for c in covers)


def _region(case: Case, i: int) -> str:
    return case.plan.assignment.covers[i].region
