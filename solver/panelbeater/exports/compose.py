"""One moment of the shot as a still picture: SVG first, pixels when asked."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import resvg_py
import shapely
from PIL import Image
from shapely.geometry.base import BaseGeometry

from panelbeater.exports.artwork import SVG, safe_markup
from panelbeater.exports.looks import Looks, read_looks
from panelbeater.geometry.frames import apply
from panelbeater.geometry.stage import (
    bone_transforms,
    piece_transforms,
    shown_shapes,
    shown_spans,
)
from panelbeater.terms.arrays import Affines, Points
from panelbeater.terms.drawing import Shape
from panelbeater.terms.rig import Rig, Sample

BODY_FILL = "#4a5560"
BODY_EDGE = "#333c45"
GROUND_LINE = "#8b8577"
PAPER = "#f1eee6"
LIT_EDGE = "#b3126f"
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
    looks: Looks
    """Artwork of each piece, drawing coordinates."""
    bones: tuple[str, ...]
    """Path data of each bare bone, standing stage coordinates."""


def corners(shape: BaseGeometry) -> Points:
    """Convex corners, enough to bound any affine copy of it; (n, 2)."""
    hull = shapely.convex_hull(shape)
    return np.asarray(shapely.get_coordinates(hull), dtype=np.float64)


def stage_window(rig: Rig, sample: Sample) -> Window:
    """The box that holds every piece and bone at every sampled moment, and the ground."""
    pieces, bones = piece_transforms(rig, sample), bone_transforms(rig, sample)
    placed = [
        *(apply(bones[:, i], corners(b.body)) for i, b in enumerate(rig.figure.bones)),
        *(
            apply(pieces[rows, i], corners(shape))
            for i in range(len(rig.tracks))
            for rows, shape in shown_spans(rig, sample, i)
        ),
    ]
    still = [corners(rig.drawing.silhouette), corners(rig.figure.silhouette)]
    points = np.concatenate([points.reshape(-1, 2) for points in (*placed, *still)])
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
    looks = read_looks(rig, decimals)
    defs = safe_markup(rig.drawing.defs, owner="the definitions", keep_ids=True)
    return Painted(
        defs=defs + looks.defs,
        looks=looks,
        bones=tuple(path_data(bone.body, decimals) for bone in rig.figure.bones),
    )


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
        self._sample = sample
        self._is_cut_out = is_cut_out
        self._painted = paint(rig, self.window.decimals)
        self._pieces = piece_transforms(rig, sample)
        self._bones = bone_transforms(rig, sample)

    def svg(self, frame: int, width_px: int) -> str:
        """The still of a whole frame.

        It states a size in whole pixels and fills it, so that no edge is left half painted.
        """
        window = self.window
        height_px = self.height_px(width_px)
        return (
            f'<svg xmlns="{SVG}" width="{width_px}" height="{height_px}" '
            f'viewBox="{window.view_box}" preserveAspectRatio="none">'
            f"<defs>{self._painted.defs}</defs>{self._floor()}{self._still(frame)}</svg>"
        )

    def _still(self, frame: int) -> str:
        """Body under pieces, far to near."""
        decimals = self.window.decimals
        body = "".join(
            f'<path d="{data}" transform="{matrix(transform, decimals)}"/>'
            for data, transform in zip(self._painted.bones, self._bones[frame], strict=True)
        )
        order = np.argsort(self._rig.depth[frame], kind="stable")
        art = "".join(self._placed(frame, int(i)) for i in order)
        return f"<g {body_paint(self.window)}>{body}</g><g>{art}</g>"

    def _placed(self, frame: int, i: int, edge: str = "") -> str:
        """One piece as it is seen, `edge` under its paint; nothing once it has vanished."""
        sample, decimals = self._sample, self.window.decimals
        if not sample.visible[frame, i]:
            return ""
        drawn = self._painted.looks.of(i, redrawn=bool(sample.redrawn[frame, i]))
        art = drawn.at(float(sample.bent[frame, i]), decimals)
        place = matrix(self._pieces[frame, i], decimals)
        return f'<g transform="{place}">{edge}{art}</g>'

    def _lit(self, frame: int, lit: Sequence[int], edge: float) -> str:
        """The lit pieces far to near, each with an edge of light round it."""
        shapes = shown_shapes(self._rig, self._sample, frame)
        return "".join(
            self._placed(
                frame, i,
                f'<path d="{path_data(shapes[i], self.window.decimals)}" fill="none" '
                f'stroke="{LIT_EDGE}" stroke-width="{edge:.4g}" stroke-linejoin="round"/>',
            )
            for i in sorted(lit, key=lambda i: int(self._rig.depth[frame, i]))
        )  # fmt: skip

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

    def picture(self, frame: int, width_px: int) -> Image.Image:
        """The same still as RGB pixels; a cut-out as RGBA."""
        paper = None if self._is_cut_out else PAPER
        return rasterise(self.svg(frame, width_px), paper=paper)

    def film(self, width_px: int) -> np.ndarray[Any, np.dtype[np.uint8]]:
        """(n_frames, h, w, 3 or 4), every still; what shows the same is painted once."""
        drawn = [self.svg(frame, width_px) for frame in range(len(self._pieces))]
        paper = None if self._is_cut_out else PAPER
        painted = {
            svg: np.asarray(rasterise(svg, paper=paper)) for svg in dict.fromkeys(drawn)
        }
        return np.stack([painted[svg] for svg in drawn])

    def lit_picture(self, frame: int, width_px: int, lit: Sequence[int]) -> Image.Image:
        """The still with everything but the `lit` pieces behind a veil of paper.

        `lit` are places in the drawing; these pieces get an edge of light.
        """
        window = self.window
        veil = (
            f'<rect x="{window.x}" y="{window.y}" width="{window.width}" '
            f'height="{window.height}" fill="{PAPER}" fill-opacity="0.66"/>'
        )
        art = self._lit(frame, lit, max(window.width, window.height) / 160)
        whole = self.svg(frame, width_px).removesuffix("</svg>")
        return rasterise(f"{whole}{veil}{art}</svg>")
