"""The shot as animated SVG in the format's own timing, for viewers that read no styles."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
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
from panelbeater.exports.looks import Drawn
from panelbeater.exports.marks import Mark
from panelbeater.exports.slots import Slot, piece_slots
from panelbeater.terms.arrays import Floats
from panelbeater.terms.rig import Rig, Sample


def export_smil_svg(rig: Rig, sample: Sample, path: Path, *, caution: str = "") -> None:
    """Write an animated SVG with SMIL timing: plays once through, holds, starts again.

    Each mover is keyed as translate, rotate, skewX and scale (SVG 2, chapter 8; SVG
    Animations 2), joined by straight lines; draw order changes by showing and hiding.
    Static attributes show frame 1. `sample` holds one moment per frame. Raises
    DrawingError on artwork that is not XML.
    """
    window = stage_window(rig, sample)
    painted = paint(rig, window.decimals)
    clock = _Clock(rig, window)
    slots = piece_slots(rig, sample)
    size = max(window.width, window.height)
    shapes = bending_keys(rig, sample, painted, STRAY * size)
    bending = {shape.name: shape for shape in shapes}
    bones = (
        f'<g id="bone-{bone.id}" {clock.moving(actor)}<path d="{data}" '
        f'transform="{matrix(actor.inner, window.decimals)}"/></g>'
        for bone, actor, data in zip(
            rig.figure.bones, bone_actors(rig, sample), painted.bones, strict=True
        )
    )
    pieces = _stack(rig, piece_actors(rig, sample), slots, painted, bending, clock)
    text = whole_drawing(
        rig, window, painted, slots, bones=bones, pieces=pieces, caution=caution
    )
    write_whole(path, [text])


class _Clock:
    """Writes keys in shares of the shot and its end hold."""

    def __init__(self, rig: Rig, window: Window) -> None:
        self.window = window
        last = max(rig.shot.n_frames - 1, 1)
        play_s = last / rig.shot.fps
        whole_s = play_s + END_HOLD_S
        self._share = play_s / whole_s / last  # of one frame
        self._timing = f'dur="{number(whole_s, 6)}s" repeatCount="indefinite"'
        # Held drawings stay put until the next one.
        self._mode = "linear" if rig.shot.exposure == 1 else "discrete"
        self._exposure = rig.shot.exposure

    def moving(self, actor: Actor) -> str:
        """Transform attribute, end of the tag, and the keys of a mover."""
        size = max(self.window.width, self.window.height)
        still = f'transform="{matrix(actor.carrier[0], self.window.decimals + 4)}">'
        if actor.stray() < STRAY * size / 10:
            return still
        keys = sparse_keys(actor.carrier, actor.edge, STRAY * size)
        channels = split(actor.carrier)
        if self._mode == "discrete":
            last = len(channels) - 1
            keys = sorted({*range(0, last, self._exposure), last})
        return still + self._keys(keys, channels[keys])

    def _keys(self, keys: list[int], values: Floats) -> str:
        """`values` is (n_keys, 6): x, y, turn, skew, sx, sy."""
        length, decimals = self.window.decimals + 1, 5
        degrees = values[:, 2:4] * (180 / math.pi)
        words: list[tuple[str, list[str]]] = [
            ("translate", [" ".join(number(v, length) for v in row[:2]) for row in values]),
            ("rotate", [number(v, decimals) for v in degrees[:, 0]]),
            ("skewX", [number(v, decimals) for v in degrees[:, 1]]),
            ("scale", [" ".join(number(v, decimals) for v in row[4:]) for row in values]),
        ]
        out = ""
        for kind, texts in words:
            if kind == "skewX" and set(texts) == {"0"}:
                continue
            # The first takes the place of the static transform, the others follow it.
            adding = "replace" if kind == "translate" else "sum"
            out += (
                f'<animateTransform attributeName="transform" type="{kind}" '
                f'additive="{adding}" calcMode="{self._mode}" {self._timing} '
                f'keyTimes="{self._times(keys)}" values="{";".join([*texts, texts[-1]])}"/>'
            )
        return out

    def showing(self, slot: Slot) -> str:
        """Keys that show and hide at once, without anything between."""
        shown = slot.shown
        changes = [f for f in range(len(shown)) if f == 0 or shown[f] != shown[f - 1]]
        states = [VISIBILITY[shown[f]] for f in changes]
        times = ";".join(number(f * self._share, 7) for f in changes)
        return (
            f'<animate attributeName="visibility" calcMode="discrete" {self._timing} '
            f'keyTimes="{times}" values="{";".join(states)}"/>'
        )

    def bending(self, drawn: Drawn, shape: BendingKeys | None) -> str:
        """The drawing with a morph in each path, all of the same commands."""
        decimals = self.window.decimals
        if shape is None:
            return drawn.at(0.0, decimals)
        keys = shape.keys
        if self._mode == "discrete":
            last = len(shape.all_shares) - 1
            keys = sorted({*range(0, last, self._exposure), last})
        marks = [shape.art.at(shape.all_shares[key]) for key in keys]

        def words(k: int, mark: Mark) -> tuple[str, str, str]:
            texts = [mark_data(bent[k], decimals) for bent in marks]
            morph = (
                f'<animate attributeName="d" calcMode="{self._mode}" {self._timing} '
                f'keyTimes="{self._times(keys)}" values="{";".join([*texts, texts[-1]])}"/>'
            )
            return "", mark_data(mark, decimals), morph

        return drawn.paths(words)

    def _times(self, keys: Sequence[int]) -> str:
        return ";".join([*(number(key * self._share, 7) for key in keys), "1"])


def _stack(
    rig: Rig,
    actors: list[Actor],
    slots: list[Slot],
    painted: Painted,
    bending: Mapping[str, BendingKeys],
    clock: _Clock,
) -> list[str]:
    """One group a slot, far to near; a piece with several slots is drawn by reference."""
    twice = doubled(slots, painted)
    decimals = clock.window.decimals + 4
    groups = []
    for slot in slots:
        actor, piece = actors[slot.piece], rig.drawing.pieces[slot.piece]
        drawn = drawn_in(slot, painted)
        art = f'<use href="#artwork-{drawn.name}"/>'
        if drawn not in twice:
            art = clock.bending(drawn, bending.get(drawn.name))
        x, y = (number(v, decimals) for v in actor.inner[:2, 2])
        mover = (
            f'<g data-piece="{piece.id}" {clock.moving(actor)}'
            f'<g transform="translate({x} {y})">{art}</g></g>'
        )
        if slot.is_always:
            groups.append(mover)
        else:
            first = VISIBILITY[slot.shown[0]]
            groups.append(f'<g visibility="{first}">{clock.showing(slot)}{mover}</g>')
    return groups
