"""The shot as one animated SVG that any browser plays by itself."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from pathlib import Path

import numpy as np

from panelbeater.exports.channels import sparse_keys, split
from panelbeater.exports.compose import (
    GROUND_LINE,
    PAPER,
    Painted,
    Window,
    body_paint,
    corners,
    matrix,
    number,
    paint,
    stage_window,
)
from panelbeater.exports.files import write_whole
from panelbeater.exports.slots import Slot, stack_slots
from panelbeater.exports.words import FLASH_CAUTION
from panelbeater.geometry.frames import apply
from panelbeater.geometry.stage import (
    bone_from_standing,
    bone_transforms,
    piece_from_drawing,
    piece_transforms,
)
from panelbeater.terms.arrays import Affines, Points
from panelbeater.terms.rig import Rig, Sample

STRAY = 5e-4
"""Farthest a sparse key may put any corner from its place, as a share of the stage."""
END_HOLD_S = 1.5
"""The robot stands this long before the shot starts again."""
VISIBILITY = {True: "visible", False: "hidden"}


@dataclass(frozen=True, slots=True, eq=False)
class _Actor:
    """One moving thing: keys act on its own frame, `inner` brings the drawing into it."""

    name: str
    carrier: Affines
    """(n_frames, 3, 3), stage_from_own."""
    inner: Affines
    """(3, 3), own_from_drawing."""
    edge: Points
    """(n, 2), corners in its own frame."""


def export_rig_svg(rig: Rig, sample: Sample, path: Path) -> None:
    """Write rig.svg: body under pieces, sparse keys, plays forwards, holds, starts again.

    `sample` holds one moment per frame. Static attributes show frame 1, which is all that
    is shown where reduced motion is asked for. Raises DrawingError on artwork that is not
    XML.
    """
    window = stage_window(rig, sample)
    painted = paint(rig, window.decimals)
    bones = _bone_actors(rig, sample)
    pieces = _piece_actors(rig, sample)
    slots = stack_slots(rig.depth)
    text = "\n".join(
        [
            _opening(rig, window),
            _style(rig, [*bones, *pieces], slots, window),
            f"<defs>{painted.defs}{_shared_artwork(slots, painted)}</defs>",
            _floor(rig, window),
            f'<g id="body" {body_paint(window)}>',
            *(_bone(rig, i, bones[i], painted, window) for i in range(len(bones))),
            '</g>\n<g id="pieces">',
            *_stack(rig, pieces, slots, painted, window),
            "</g>\n</svg>\n",
        ]
    )
    write_whole(path, [text.encode()])


def _piece_actors(rig: Rig, sample: Sample) -> list[_Actor]:
    inner = piece_from_drawing(rig.drawing.pieces)
    # Through piece_transforms and back, so that frame 0 is the same identity everywhere.
    carrier = piece_transforms(rig, sample) @ np.linalg.inv(inner)[None]
    return [
        _Actor(f"p{i}", carrier[:, i], inner[i], apply(inner[i], corners(piece.outline)))
        for i, piece in enumerate(rig.drawing.pieces)
    ]


def _bone_actors(rig: Rig, sample: Sample) -> list[_Actor]:
    inner = bone_from_standing(rig.figure.bones)
    carrier = bone_transforms(rig, sample) @ np.linalg.inv(inner)[None]
    return [
        _Actor(f"b{i}", carrier[:, i], inner[i], apply(inner[i], corners(bone.body)))
        for i, bone in enumerate(rig.figure.bones)
    ]


def _opening(rig: Rig, window: Window) -> str:
    pieces, shot = len(rig.drawing.pieces), rig.shot
    about = (
        f"A drawn vehicle of {pieces} pieces unfolds into a standing figure in "
        f"{shot.n_frames} frames at {shot.fps} a second, holds, and starts again."
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{window.view_box}" role="img" '
        f'aria-labelledby="title desc">\n<title id="title">{escape(shot.title)}</title>\n'
        f'<desc id="desc">{escape(about)} {FLASH_CAUTION}</desc>'
    )


def _floor(rig: Rig, window: Window) -> str:
    x, y, width, height = (
        number(v, window.decimals)
        for v in (window.x, window.y, window.width, window.height)
    )
    thick = f"{window.height / 300:.3g}"
    ground = number(rig.ground, window.decimals)
    return (
        f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="{PAPER}"/>\n'
        f'<path d="M{x} {ground}h{width}" stroke="{GROUND_LINE}" stroke-width="{thick}"/>'
    )


def _style(rig: Rig, actors: list[_Actor], slots: list[Slot], window: Window) -> str:
    """Keyframes of every mover, timed as percent of the shot and its end hold."""
    play_s = max(rig.shot.n_frames - 1, 1) / rig.shot.fps
    whole_s = play_s + END_HOLD_S
    percent = 100 * play_s / whole_s / max(rig.shot.n_frames - 1, 1)  # of one frame
    moves = {actor.name: _moves(actor, percent, window) for actor in actors}
    rules = [f".m{{animation:{whole_s:.6g}s linear infinite both}}"]
    for name, move in moves.items():
        if move:
            rules += [move, f".{name}{{animation-name:{name}}}"]
    for place, slot in enumerate(slots):
        if not slot.is_always:
            names = [f"p{slot.piece}"] if moves[f"p{slot.piece}"] else []
            rules.append(_showing(f"v{place}", slot, percent))
            rules.append(f".m.v{place}{{animation-name:{','.join([*names, f'v{place}'])}}}")
    rules.append("@media (prefers-reduced-motion:reduce){.m{animation:none!important}}")
    return "<style>\n" + "\n".join(rules) + "\n</style>"


def _moves(actor: _Actor, percent: float, window: Window) -> str:
    """Sparse keyframes, or nothing for what never moves."""
    tolerance = STRAY * max(window.width, window.height)
    keys = sparse_keys(actor.carrier, actor.edge, tolerance)
    channels = split(actor.carrier)
    near = tolerance / 10
    if float(np.ptp(apply(actor.carrier, actor.edge), axis=0).max()) < near:
        return ""
    decimals = window.decimals
    steps = []
    for key in keys:
        x, y, turn, skew, sx, sy = channels[key]
        at = f"{number(key * percent, 4)}%"
        if key == keys[-1]:
            at += ",100%"
        lean = f" skewX({number(skew, 5)}rad)" if abs(skew) > 1e-5 else " skewX(0)"
        steps.append(
            f"{at}{{transform:translate({number(x, decimals)}px,{number(y, decimals)}px) "
            f"rotate({number(turn, 5)}rad){lean} scale({number(sx, 5)},{number(sy, 5)})}}"
        )
    return f"@keyframes {actor.name}{{{''.join(steps)}}}"


def _showing(name: str, slot: Slot, percent: float) -> str:
    """Keyframes that show and hide without anything in between."""
    changes = [
        frame
        for frame, shown in enumerate(slot.shown)
        if frame == 0 or shown != slot.shown[frame - 1]
    ]
    steps = [
        f"{number(frame * percent, 4)}%{{animation-timing-function:step-end;"
        f"visibility:{VISIBILITY[slot.shown[frame]]}}}"
        for frame in changes
    ]
    steps.append(f"100%{{visibility:{VISIBILITY[slot.shown[-1]]}}}")
    return f"@keyframes {name}{{{''.join(steps)}}}"


def _bone(rig: Rig, i: int, actor: _Actor, painted: Painted, window: Window) -> str:
    return (
        f'<g id="bone-{rig.figure.bones[i].id}" class="m {actor.name}" '
        f'transform="{matrix(actor.carrier[0], window.decimals)}">'
        f'<path d="{painted.bones[i]}" '
        f'transform="{matrix(actor.inner, window.decimals)}"/></g>'
    )


def _doubled(slots: list[Slot]) -> list[int]:
    pieces = [slot.piece for slot in slots]
    return sorted({piece for piece in pieces if pieces.count(piece) > 1})


def _shared_artwork(slots: list[Slot], painted: Painted) -> str:
    return "".join(
        f'<g id="artwork-{piece}">{painted.pieces[piece]}</g>' for piece in _doubled(slots)
    )


def _stack(
    rig: Rig, actors: list[_Actor], slots: list[Slot], painted: Painted, window: Window
) -> list[str]:
    """One group a slot, far to near; a piece with several slots is drawn by reference."""
    doubled = _doubled(slots)
    seen: set[int] = set()
    groups = []
    for place, slot in enumerate(slots):
        i, actor = slot.piece, actors[slot.piece]
        name = "" if i in seen else f' id="piece-{rig.drawing.pieces[i].id}"'
        seen.add(i)
        hidden = "" if slot.shown[0] else ' visibility="hidden"'
        classes = f"m {actor.name}" if slot.is_always else f"m {actor.name} v{place}"
        art = f'<use href="#artwork-{i}"/>' if i in doubled else painted.pieces[i]
        x, y = actor.inner[:2, 2]
        move = (
            f"translate({number(x, window.decimals + 4)} {number(y, window.decimals + 4)})"
        )
        groups.append(
            f'<g{name} class="{classes}" data-piece="{rig.drawing.pieces[i].id}" '
            f'transform="{matrix(actor.carrier[0], window.decimals + 4)}"{hidden}>'
            f'<g transform="{move}">{art}</g></g>'
        )
    return groups
