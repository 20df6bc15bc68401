"""Both ends of the shot as layered drawings, to paint over or to rig by hand."""

from __future__ import annotations

from html import escape
from pathlib import Path

import numpy as np

from panelbeater.exports.artwork import SVG
from panelbeater.exports.compose import (
    Painted,
    Window,
    body_paint,
    matrix,
    number,
    paint,
    stage_window,
)
from panelbeater.exports.files import write_whole
from panelbeater.geometry.frames import apply
from panelbeater.geometry.stage import bone_transforms, piece_transforms
from panelbeater.terms.rig import Rig, Sample

BONE_COLOUR = "#b3261e"
PIVOT_COLOUR = "#14618c"


def export_layers(
    rig: Rig, sample: Sample, path: Path, *, frame: int, caution: str = ""
) -> None:
    """Write one frame as named groups: body, pieces far to near, bones, pivots.

    Every piece is a group with its name; bones are lines from joint to tip in a group named
    "bones", as `panelbeater plan` reads them in a figure; pivots are the joints and the
    middles that pieces turn about. `sample` holds one moment per frame. Raises DrawingError
    on artwork that is not XML.
    """
    window = stage_window(rig, sample)
    painted = paint(rig, window.decimals)
    about = (
        f"Frame {frame + 1} of {rig.shot.n_frames} at {rig.shot.fps} a second. {caution}"
    )
    text = "\n".join(
        [
            f'<svg xmlns="{SVG}" viewBox="{window.view_box}" role="img">',
            f"<title>{escape(rig.shot.title)}</title>",
            f"<desc>{escape(about.strip())}</desc>",
            f"<defs>{painted.defs}</defs>",
            *_body(rig, sample, frame, painted, window),
            *_pieces(rig, sample, frame, painted, window),
            *_bones(rig, sample, frame, window),
            *_pivots(rig, sample, frame, window),
            "</svg>\n",
        ]
    )
    write_whole(path, [text.encode()])


def _body(
    rig: Rig, sample: Sample, frame: int, painted: Painted, window: Window
) -> list[str]:
    placed = bone_transforms(rig, sample)[frame]
    return [
        f'<g id="body" {body_paint(window)}><title>body</title>',
        *(
            f'<path id="body-{bone.id}" d="{data}" '
            f'transform="{matrix(transform, window.decimals + 4)}"/>'
            for bone, data, transform in zip(
                rig.figure.bones, painted.bones, placed, strict=True
            )
        ),
        "</g>",
    ]


def _pieces(
    rig: Rig, sample: Sample, frame: int, painted: Painted, window: Window
) -> list[str]:
    placed = piece_transforms(rig, sample)[frame]
    groups = []
    for i in np.argsort(rig.depth[frame], kind="stable"):
        name = rig.drawing.pieces[i].id
        drawn = painted.looks.of(i, redrawn=bool(sample.redrawn[frame, i]))
        art = drawn.at(float(sample.bent[frame, i]), window.decimals)
        # Hidden, not left out: whoever opens the file can show it again.
        hidden = "" if sample.visible[frame, i] else ' display="none"'
        groups.append(
            f'<g id="piece-{name}" transform="{matrix(placed[i], window.decimals + 4)}"'
            f"{hidden}><title>{name}</title>{art}</g>"
        )
    return ['<g id="pieces"><title>pieces</title>', *groups, "</g>"]


def _bones(rig: Rig, sample: Sample, frame: int, window: Window) -> list[str]:
    placed = bone_transforms(rig, sample)[frame]
    lines = []
    for bone, transform in zip(rig.figure.bones, placed, strict=True):
        (x1, y1), (x2, y2) = apply(transform, np.array([bone.start, bone.end])).round(6)
        lines.append(
            f'<line id="{bone.id}" x1="{_at(x1, window)}" y1="{_at(y1, window)}" '
            f'x2="{_at(x2, window)}" y2="{_at(y2, window)}"/>'
        )
    thick = max(window.width, window.height) / 300
    paint_words = f'stroke="{BONE_COLOUR}" stroke-width="{thick:.3g}" fill="none"'
    return [f'<g id="bones" {paint_words}><title>bones</title>', *lines, "</g>"]


def _pivots(rig: Rig, sample: Sample, frame: int, window: Window) -> list[str]:
    joints = sample.stage_from_bone[frame, :, :2, 2]
    middles = sample.stage_from_piece[frame, :, :2, 2]
    names = [
        *(f"pivot-{bone.id}" for bone in rig.figure.bones),
        *(f"pivot-piece-{piece.id}" for piece in rig.drawing.pieces),
    ]
    radius = f"{max(window.width, window.height) / 250:.3g}"
    spots = [
        f'<circle id="{name}" cx="{_at(x, window)}" cy="{_at(y, window)}" r="{radius}"/>'
        for name, (x, y) in zip(names, np.concatenate([joints, middles]), strict=True)
    ]
    return [
        f'<g id="pivots" fill="{PIVOT_COLOUR}"><title>pivots</title>',
        *spots,
        "</g>",
    ]


def _at(value: float, window: Window) -> str:
    return number(float(value), window.decimals + 1)
