"""One moment of the shot as a still picture: SVG first, pixels when asked."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import resvg_py
import shapely
from PIL import Image

from panelbeater.exports.artwork import SVG, safe_markup
from panelbeater.geometry.frames import apply
from panelbeater.geometry.stage import bone_transforms, piece_transforms
from panelbeater.terms.arrays import Affines, Ints, Points
from panelbeater.terms.drawing import Piece, Shape
from panelbeater.terms.rig import Rig, Sample

BODY_FILL = "#4a5560"
BODY_EDGE = "#333c45"
GROUND_LINE = "#8b8577"
PAPER = "#f1eee6"
LIT_EDGE = "#b3126f"
SEAM = 0.003
"""Width of a panel gap where the tool cut a piece, share of the vehicle's longer side."""
MARGIN = 0.05
"""Air around everything that is ever drawn, as a share of the larger side."""


@dataclass(frozen=True, slots=True)
class Window:
    """The part of the stage that every picture shows; drawing units."""

    x: float
    y: float
    width: float
    height: float

    @property
    def view_box(self) -> str:
        """As SVG wants it."""
        return " ".join(f"{v:.6g}" for v in (self.x, self.y, self.width, self.height))

    @property
    def decimals(self) -> int:
        """Decimals that resolve a fiftieth of a pixel when the stage fills a screen."""
        return max(0, math.ceil(math.log10(2e4 / max(self.width, self.height))))


@dataclass(frozen=True, slots=True)
class Painted:
    """Markup of the drawing and the body, cleaned once and shared by all frames."""

    defs: str
    pieces: tuple[str, ...]
    """Artwork of each piece, drawing coordinates."""
    bones: tuple[str, ...]
    """Path data of each bare bone, standing stage coordinates."""


def corners(shape: Shape) -> Points:
    """Convex corners, enough to bound any affine copy of it; (n, 2)."""
    hull = shapely.convex_hull(shape)
    return np.asarray(shapely.get_coordinates(hull), dtype=np.float64)


def stage_window(rig: Rig, sample: Sample) -> Window:
    """The box that holds every piece and bone at every sampled moment, and the ground."""
    placed = [
        apply(transforms[:, i], corners(shape)).reshape(-1, 2)
        for transforms, shapes in (
            (piece_transforms(rig, sample), [p.outline for p in rig.drawing.pieces]),
            (bone_transforms(rig, sample), [b.body for b in rig.figure.bones]),
        )
        for i, shape in enumerate(shapes)
    ]
    still = [corners(rig.drawing.silhouette), corners(rig.figure.silhouette)]
    points = np.concatenate([*placed, *still])
    low, high = points.min(axis=0), points.max(axis=0)
    high[1] = max(high[1], rig.ground)
    air = MARGIN * float(np.max(high - low))
    low, high = low - air, high + air
    return Window(float(low[0]), float(low[1]), *(float(v) for v in high - low))


def path_data(shape: Shape, decimals: int) -> str:
    """SVG path data of all rings."""
    parts = []
    for polygon in getattr(shape, "geoms", [shape]):
        for ring in (polygon.exterior, *polygon.interiors):
            points = shapely.get_coordinates(ring)[:-1]
            text = " ".join(
                f"{number(x, decimals)} {number(y, decimals)}" for x, y in points
            )
            parts.append(f"M{text}Z")
    return "".join(parts)


def number(value: float, decimals: int) -> str:
    """Shortest fixed-point text at this many decimals."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def matrix(transform: Affines, decimals: int) -> str:
    """SVG matrix(); the linear part gets two more decimals, as it multiplies lengths."""
    linear = [number(v, decimals + 4) for v in transform[:2, :2].T.ravel()]
    move = [number(v, decimals) for v in transform[:2, 2]]
    return f"matrix({' '.join([*linear, *move])})"


def paint(rig: Rig, decimals: int) -> Painted:
    """Clean the artwork. Raises DrawingError where it is not well-formed."""
    return Painted(
        defs=safe_markup(rig.drawing.defs, owner="the definitions", keep_ids=True),
        pieces=tuple(
            safe_markup(piece.artwork, owner=f"piece '{piece.id}'", keep_ids=False)
            + _seam(piece, rig, decimals)
            for piece in rig.drawing.pieces
        ),
        bones=tuple(path_data(bone.body, decimals) for bone in rig.figure.bones),
    )


def _seam(piece: Piece, rig: Rig, decimals: int) -> str:
    """A faint panel gap round a piece the tool had to cut: plates of one colour would
    otherwise melt into each other on the robot.
    """
    if piece.cut_from is None:
        return ""
    x0, y0, x1, y1 = rig.drawing.silhouette.bounds
    wide = SEAM * max(x1 - x0, y1 - y0)
    return (
        f'<path d="{path_data(piece.outline, decimals)}" fill="none" stroke="#000000" '
        f'stroke-opacity="0.3" stroke-width="{wide:.6g}" stroke-linejoin="round"/>'
    )


def still_markup(
    painted: Painted, pieces: Affines, bones: Affines, depth: Ints, window: Window
) -> str:
    """Body under pieces, far to near, without the outer <svg>; transforms of one moment."""
    decimals = window.decimals
    body = "".join(
        f'<path d="{data}" transform="{matrix(transform, decimals)}"/>'
        for data, transform in zip(painted.bones, bones, strict=True)
    )
    order = np.argsort(depth, kind="stable")
    art = "".join(
        f'<g transform="{matrix(pieces[i], decimals)}">{painted.pieces[i]}</g>'
        for i in order
    )
    return f"<g {body_paint(window)}>{body}</g><g>{art}</g>"


def body_paint(window: Window) -> str:
    """Fill and edge of the bare body, as attributes."""
    edge = max(window.width, window.height) / 600
    return f'fill="{BODY_FILL}" stroke="{BODY_EDGE}" stroke-width="{edge:.3g}"'


def rasterise(svg: str, *, paper: str | None = PAPER) -> Image.Image:
    """Paint an SVG text at the size it states; RGB, or RGBA where `paper` is None.

    System fonts are never asked for.
    """
    png = resvg_py.svg_to_bytes(svg_string=svg, background=paper, skip_system_fonts=True)
    picture = Image.open(io.BytesIO(bytes(png)))
    return picture.convert("RGB" if paper else "RGBA")


class StillCamera:
    """Takes stills of one sampled rig in one window, so that all of them line up."""

    def __init__(self, rig: Rig, sample: Sample, *, is_cut_out: bool = False) -> None:
        """`is_cut_out` leaves out paper and ground line, for laying over a background."""
        self.window = stage_window(rig, sample)
        self._rig = rig
        self._is_cut_out = is_cut_out
        self._painted = paint(rig, self.window.decimals)
        self._pieces = piece_transforms(rig, sample)
        self._bones = bone_transforms(rig, sample)

    def svg(self, frame: int, width_px: int, lit: Sequence[int] | None = None) -> str:
        """The still of a whole frame; `lit` pieces shine and the rest is veiled.

        It states a size in whole pixels and fills it, so that no edge is left half painted.
        """
        window = self.window
        height_px = self.height_px(width_px)
        still = still_markup(
            self._painted,
            self._pieces[frame],
            self._bones[frame],
            self._rig.depth[frame],
            window,
        )
        return (
            f'<svg xmlns="{SVG}" width="{width_px}" height="{height_px}" '
            f'viewBox="{window.view_box}" preserveAspectRatio="none">'
            f"<defs>{self._painted.defs}</defs>{self._floor()}{still}"
            f"{'' if lit is None else self._veil(frame, lit)}</svg>"
        )

    def _veil(self, frame: int, lit: Sequence[int]) -> str:
        """Paper laid over everything, and the lit pieces again on top with an edge."""
        window = self.window
        edge = max(window.width, window.height) / 250
        far_to_near = sorted(lit, key=lambda i: int(self._rig.depth[frame, i]))
        shining = "".join(
            f'<g transform="{matrix(self._pieces[frame, i], window.decimals)}">'
            f"{self._painted.pieces[i]}"
            f'<path d="{path_data(self._rig.drawing.pieces[i].outline, window.decimals)}" '
            f'fill="none" stroke="{LIT_EDGE}" stroke-width="{edge:.3g}"/></g>'
            for i in far_to_near
        )
        return (
            f'<rect x="{window.x}" y="{window.y}" width="{window.width}" '
            f'height="{window.height}" fill="{PAPER}" opacity="0.7"/>{shining}'
        )

    def _floor(self) -> str:
        if self._is_cut_out:
            return ""
        window, y = self.window, self._rig.ground
        return (
            f'<rect x="{window.x}" y="{window.y}" width="{window.width}" '
            f'height="{window.height}" fill="{PAPER}"/>'
            f'<path d="M{window.x} {y}h{window.width}" stroke="{GROUND_LINE}" '
            f'stroke-width="{window.height / 300:.6g}"/>'
        )

    def height_px(self, width_px: int) -> int:
        """Height of a still of this width."""
        return round(width_px * self.window.height / self.window.width)

    def picture(
        self, frame: int, width_px: int, lit: Sequence[int] | None = None
    ) -> Image.Image:
        """The same still as RGB pixels; a cut-out as RGBA."""
        return rasterise(
            self.svg(frame, width_px, lit), paper=None if self._is_cut_out else PAPER
        )

    def lit_picture(self, frame: int, width_px: int, lit: Sequence[int]) -> Image.Image:
        """The still with everything but the `lit` pieces behind a veil of paper.

        `lit` are places in the drawing; these pieces get an edge of light.
        """
        window = self.window
        edge = max(window.width, window.height) / 160
        order = sorted(lit, key=lambda i: int(self._rig.depth[frame][i]))
        art = "".join(
            f'<g transform="{matrix(self._pieces[frame, i], window.decimals)}">'
            f'<path d="{path_data(self._rig.drawing.pieces[i].outline, window.decimals)}" '
            f'fill="none" stroke="{LIT_EDGE}" stroke-width="{edge:.4g}" '
            f'stroke-linejoin="round"/>{self._painted.pieces[i]}</g>'
            for i in order
        )
        veil = (
            f'<rect x="{window.x}" y="{window.y}" width="{window.width}" '
            f'height="{window.height}" fill="{PAPER}" fill-opacity="0.66"/>'
        )
        whole = self.svg(frame, width_px).removesuffix("</svg>")
        return rasterise(f"{whole}{veil}{art}</svg>")
