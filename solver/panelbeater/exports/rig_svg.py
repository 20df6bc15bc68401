"""The shot as one animated SVG that any browser plays by itself."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from panelbeater.exports.actors import STRAY, Actor, bone_actors, piece_actors
from panelbeater.exports.animated_svg import (
    END_HOLD_S,
    VISIBILITY,
    doubled,
    drawn_in,
    whole_drawing,
)
from panelbeater.exports.bent import mark_data
from panelbeater.exports.bent_keys import BendingKeys, bending_keys
from panelbeater.exports.channels import sparse_keys, split
from panelbeater.exports.compose import (
    Painted,
    Window,
    matrix,
    number,
    paint,
    stage_window,
)
from panelbeater.exports.files import write_whole
from panelbeater.exports.marks import Mark
from panelbeater.exports.slots import Slot, piece_slots
from panelbeater.exports.words import FLASH_CAUTION
from panelbeater.terms.rig import Rig, Sample


def export_rig_svg(
    rig: Rig, sample: Sample, path: Path, *, caution: str = FLASH_CAUTION
) -> None:
    """Write rig.svg: body under pieces, sparse keys, plays forwards, holds, starts again.

    `sample` holds one moment per frame. Static attributes show frame 1, which is all that
    is shown where reduced motion is asked for. Raises DrawingError on artwork that is not
    XML.
    """
    window = stage_window(rig, sample)
    painted = paint(rig, window.decimals)
    bones = bone_actors(rig, sample)
    pieces = piece_actors(rig, sample)
    slots = piece_slots(rig, sample)
    shapes = bending_keys(rig, sample, painted, STRAY * max(window.width, window.height))
    text = whole_drawing(
        rig, window, painted, slots,
        style=_style(rig, [*bones, *pieces], slots, shapes, window),
        bones=(_bone(rig, i, bones[i], painted, window) for i in range(len(bones))),
        pieces=_stack(rig, pieces, slots, painted, window),
        caution=caution,
    )  # fmt: skip
    write_whole(path, [text])


def _style(
    rig: Rig,
    actors: list[Actor],
    slots: list[Slot],
    shapes: list[BendingKeys],
    window: Window,
) -> str:
    """Keyframes of every mover, timed as percent of the shot and its end hold."""
    play_s = max(rig.shot.n_frames - 1, 1) / rig.shot.fps
    whole_s = play_s + END_HOLD_S
    percent = 100 * play_s / whole_s / max(rig.shot.n_frames - 1, 1)  # of one frame
    moves = {actor.name: _moves(actor, percent, window) for actor in actors}
    rules = [f".m{{animation:{whole_s:.6g}s linear infinite both}}"]
    for name, move in moves.items():
        if move:
            rules += [move, f".{name}{{animation-name:{name}}}"]
    for shape in shapes:
        for name, steps in _bending(shape, percent, window):
            rules += [steps, f".{name}{{animation-name:{name}}}"]
    for place, slot in enumerate(slots):
        if not slot.is_always:
            names = [f"p{slot.piece}"] if moves[f"p{slot.piece}"] else []
            rules.append(_showing(f"v{place}", slot, percent))
            rules.append(f".m.v{place}{{animation-name:{','.join([*names, f'v{place}'])}}}")
    rules.append("@media (prefers-reduced-motion:reduce){.m{animation:none!important}}")
    return "<style>\n" + "\n".join(rules) + "\n</style>"


def _moves(actor: Actor, percent: float, window: Window) -> str:
    """Sparse keyframes, or nothing for what never moves."""
    tolerance = STRAY * max(window.width, window.height)
    keys = sparse_keys(actor.carrier, actor.edge, tolerance)
    channels = split(actor.carrier)
    near = tolerance / 10
    if actor.stray() < near:
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


def _bending(shape: BendingKeys, percent: float, window: Window) -> list[tuple[str, str]]:
    """Name and keyframes of each path of a drawing that bends."""
    marks = [shape.art.at(share) for share in shape.shares]
    out = []
    for k in range(len(shape.art.marks)):
        steps = ""
        for key, bent in zip(shape.keys, marks, strict=True):
            at = f"{number(key * percent, 4)}%"
            if key == shape.keys[-1]:
                at += ",100%"
            steps += f'{at}{{d:path("{mark_data(bent[k], window.decimals)}")}}'
        out.append((f"{shape.name}k{k}", f"@keyframes {shape.name}k{k}{{{steps}}}"))
    return out


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


def _bone(rig: Rig, i: int, actor: Actor, painted: Painted, window: Window) -> str:
    return (
        f'<g id="bone-{rig.figure.bones[i].id}" class="m {actor.name}" '
        f'transform="{matrix(actor.carrier[0], window.decimals)}">'
        f'<path d="{painted.bones[i]}" '
        f'transform="{matrix(actor.inner, window.decimals)}"/></g>'
    )


def _keyed(name: str, decimals: int, k: int, mark: Mark) -> tuple[str, str, str]:
    return f' class="m {name}k{k}"', mark_data(mark, decimals), ""


def _stack(
    rig: Rig, actors: list[Actor], slots: list[Slot], painted: Painted, window: Window
) -> list[str]:
    """One group a slot, far to near; a piece with several slots is drawn by reference."""
    twice = doubled(slots, painted)
    seen: set[int] = set()
    groups = []
    for place, slot in enumerate(slots):
        i, actor = slot.piece, actors[slot.piece]
        name = "" if i in seen else f' id="piece-{rig.drawing.pieces[i].id}"'
        seen.add(i)
        hidden = "" if slot.shown[0] else ' visibility="hidden"'
        classes = f"m {actor.name}" if slot.is_always else f"m {actor.name} v{place}"
        drawn = drawn_in(slot, painted)
        art = f'<use href="#artwork-{drawn.name}"/>'
        if drawn not in twice:
            art = drawn.paths(partial(_keyed, drawn.name, window.decimals))
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
