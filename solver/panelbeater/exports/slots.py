"""Draw order over time for players that cannot restack: pieces get the slots they need."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher

import numpy as np

from panelbeater.terms.arrays import Ints
from panelbeater.terms.rig import Rig, Sample


@dataclass(frozen=True, slots=True)
class Slot:
    """One place in the stack, and the frames in which its piece is shown there."""

    piece: int
    shown: tuple[bool, ...]
    """One a frame."""
    redrawn: bool = False
    """True where it is the robot drawing of the piece that is shown."""

    @property
    def is_always(self) -> bool:
        """True when the piece never leaves this place."""
        return all(self.shown)


def piece_slots(rig: Rig, sample: Sample) -> list[Slot]:
    """The stack of a shot: a piece with two drawings has each in a slot of its own, and
    what has vanished is not shown. `sample` holds one moment per frame.
    """
    slots = []
    for slot in stack_slots(rig.depth):
        seen = np.array(slot.shown) & sample.visible[:, slot.piece]
        for redrawn in (False, True):
            shown = seen & (sample.redrawn[:, slot.piece] == redrawn)
            if shown.any():
                slots.append(Slot(slot.piece, tuple(shown.tolist()), redrawn))
    return slots


def stack_slots(depth: Ints) -> list[Slot]:
    """Far to near, a stack in which every frame's order is found by showing and hiding.

    `depth` is (n_frames, n_pieces). Each new order is threaded through the stack along what
    the two have in common, so that only pieces which really change places are doubled.
    """
    orders = [tuple(int(i) for i in np.argsort(row, kind="stable")) for row in depth]
    n_frames = len(orders)
    stack: list[int] = list(orders[0])
    shown: list[set[int]] = [set() for _ in stack]
    chosen: list[int] = list(range(len(stack)))
    for frame, order in enumerate(orders):
        if frame and order != orders[frame - 1]:
            stack, shown, chosen = _thread(stack, shown, order)
        for place in chosen:
            shown[place].add(frame)
    return [
        Slot(piece, tuple(f in frames for f in range(n_frames)))
        for piece, frames in zip(stack, shown, strict=True)
    ]


def _thread(
    stack: list[int], shown: list[set[int]], order: tuple[int, ...]
) -> tuple[list[int], list[set[int]], list[int]]:
    """Grow the stack until `order` runs through it; also the place of each piece in it."""
    grown: list[int] = []
    grown_shown: list[set[int]] = []
    chosen: list[int] = []
    steps = SequenceMatcher(a=stack, b=order, autojunk=False).get_opcodes()
    for step, old, old_end, new, new_end in steps:
        if step == "equal":
            chosen += range(len(grown), len(grown) + old_end - old)
        grown += stack[old:old_end]
        grown_shown += shown[old:old_end]
        if step in ("insert", "replace"):
            chosen += range(len(grown), len(grown) + new_end - new)
            grown += order[new:new_end]
            grown_shown += [set() for _ in range(new, new_end)]
    return grown, grown_shown, chosen
