"""What both animated drawings share: words, floor, and artwork that is shown twice."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from panelbeater.exports.compose import (
    GROUND_LINE,
    PAPER,
    Painted,
    Window,
    body_paint,
    number,
)
from panelbeater.exports.looks import Drawn
from panelbeater.exports.slots import Slot
from panelbeater.terms.rig import Rig

END_HOLD_S = 1.5
"""The robot stands this long before the shot starts again."""
VISIBILITY = {True: "visible", False: "hidden"}


def whole_drawing(
    rig: Rig,
    window: Window,
    painted: Painted,
    slots: list[Slot],
    *,
    bones: Iterable[str],
    pieces: Iterable[str],
    style: str = "",
    caution: str = "",
) -> bytes:
    """The file: floor, body and pieces, far to near, after the style that moves them."""
    return "\n".join(
        [
            opening(rig, window, caution),
            *([style] if style else []),
            f"<defs>{painted.defs}{shared_artwork(slots, painted)}</defs>",
            floor(rig, window),
            f'<g id="body" {body_paint(window)}>',
            *bones,
            '</g>\n<g id="pieces">',
            *pieces,
            "</g>\n</svg>\n",
        ]
    ).encode()


def opening(rig: Rig, window: Window, caution: str) -> str:
    """The <svg> tag, a title, and what is to be seen, for those who cannot see it."""
    pieces, shot = len(rig.drawing.pieces), rig.shot
    about = (
        f"A drawn vehicle of {pieces} pieces unfolds into a standing figure in "
        f"{shot.n_frames} frames at {shot.fps} a second, holds, and starts again."
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{window.view_box}" role="img" '
        f'aria-labelledby="title desc">\n<title id="title">{escape(shot.title)}</title>\n'
        f'<desc id="desc">{escape(f"{about} {caution}".strip())}</desc>'
    )


def floor(rig: Rig, window: Window) -> str:
    """Paper and ground line."""
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


def drawn_in(slot: Slot, painted: Painted) -> Drawn:
    """The drawing that a slot shows."""
    return painted.looks.of(slot.piece, redrawn=slot.redrawn)


def doubled(slots: list[Slot], painted: Painted) -> list[Drawn]:
    """Drawings that stand in several places of the stack; bending ones are written out each
    time, as their paths are keyed where they stand.
    """
    drawings = [drawn_in(slot, painted) for slot in slots]
    twice = {d.name: d for d in drawings if drawings.count(d) > 1 and d.bent is None}
    return list(twice.values())


def shared_artwork(slots: list[Slot], painted: Painted) -> str:
    """Their artwork, once, for <use> to show."""
    return "".join(
        f'<g id="artwork-{drawn.name}">{drawn.markup}</g>'
        for drawn in doubled(slots, painted)
    )
