"""Each piece in a colour of its own, our raster of it, and how alike two rasters are."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from PIL import Image
from shapely import get_parts

from panelbeater.exports.compose import (
    BODY_EDGE,
    BODY_FILL,
    GROUND_LINE,
    PAPER,
    Window,
    path_data,
    rasterise,
    stage_window,
)
from panelbeater.geometry.stage import bone_outlines, piece_outlines
from panelbeater.terms.arrays import Floats, Ints
from panelbeater.terms.rig import Rig, Sample

VECTOR_BAR, CANVAS_BAR = 0.985, 0.97
"""Likeness a right file reaches; canvas players and videos soften edges."""
NEAR = 40
"""Farthest a channel may be off; a blend at an edge is no colour at all."""
FEWEST_SPOTS = 40
"""A colour seen in fewer pixels than this is all edge and proves nothing."""
GREYS = (PAPER, GROUND_LINE, "#ffffff", "#000000")
Picture = Floats
"""(h, w, 3), 0 to 255."""


def colours(n: int) -> list[str]:
    """`n` colours well apart from each other and from paper, ground and body."""
    levels = ("00", "55", "aa", "ff")
    vivid = [
        f"#{r}{g}{b}"
        for r, g, b in product(levels, repeat=3)
        if max(int(c, 16) for c in (r, g, b)) - min(int(c, 16) for c in (r, g, b)) >= 0xAA
    ]
    step = 11  # neighbours in the stack should not be neighbours in colour
    order = [vivid[(k * step) % len(vivid)] for k in range(len(vivid))]
    assert n <= len(order) == len(set(order))
    return order[:n]


def flat_rig(rig: Rig, *, without: str = "") -> Rig:
    """The rig with each piece as one flat shape; one piece may be left unpainted."""
    pieces = tuple(
        replace(
            piece,
            colour=colour,
            artwork=(
                ""
                if piece.id == without
                else f'<path d="{path_data(piece.outline, 6)}" fill="{colour}" '
                'fill-rule="evenodd"/>'
            ),
        )
        for piece, colour in zip(
            rig.drawing.pieces, colours(len(rig.drawing.pieces)), strict=True
        )
    )
    return replace(rig, drawing=replace(rig.drawing, pieces=pieces, defs=""))


@dataclass(frozen=True, eq=False)
class Raster:
    """Paints the sampled outlines of a flat rig, sharing no code with any export."""

    rig: Rig
    sample: Sample
    zoom: tuple[float, float]
    """Pixels a drawing unit, across and down."""
    size: tuple[int, int]
    """Width and height, pixels; the window's top left corner is at 0, 0."""
    has_body_edge: bool = True

    @classmethod
    def wide(cls, rig: Rig, sample: Sample, width: int) -> Raster:
        """A raster of the whole window."""
        window = stage_window(rig, sample)
        zoom = width / window.width
        return cls(rig, sample, (zoom, zoom), (width, round(zoom * window.height)))

    @classmethod
    def filling(cls, rig: Rig, sample: Sample, width: int) -> Raster:
        """The same, a hair higher or lower so that it fills its last row of pixels."""
        window = stage_window(rig, sample)
        height = round(width * window.height / window.width)
        zoom = (width / window.width, height / window.height)
        return cls(rig, sample, zoom, (width, height))

    @property
    def window(self) -> Window:
        return stage_window(self.rig, self.sample)

    def picture(
        self, frame: int, *, depth: Ints | None = None, without: int = -1
    ) -> Picture:
        """One frame; another draw order or a missing piece can be asked for."""
        window = self.window
        edge = max(window.width, window.height) / 600
        body = "".join(
            f'<path d="{path_data(s, 6)}" fill-rule="evenodd"/>'
            for s in bone_outlines(self.rig, self.sample, frame)
        )
        line = f'stroke="{BODY_EDGE}" stroke-width="{edge}"' if self.has_body_edge else ""
        order = np.argsort(self.rig.depth[frame] if depth is None else depth)
        outlines = piece_outlines(self.rig, self.sample, frame)
        art = "".join(
            f'<path d="{path_data(outlines[i], 6)}" fill-rule="evenodd" '
            f'fill="{self.rig.drawing.pieces[i].colour}"/>'
            for i in order
            if i != without and len(get_parts(outlines[i]))
        )
        svg = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.size[0]}" '
            f'height="{self.size[1]}"><g transform="scale({self.zoom[0]} {self.zoom[1]}) '
            f'translate({-window.x} {-window.y})"><g fill="{BODY_FILL}" {line}>{body}</g>'
            f"{art}</g></svg>"
        )
        return np.asarray(rasterise(svg), dtype=np.float64)

    @property
    def palette(self) -> list[str]:
        return [BODY_FILL, *(piece.colour for piece in self.rig.drawing.pieces)]


def likeness(shown: Picture, wanted: Picture, palette: Sequence[str]) -> float:
    """Mean over all colours seen in either picture of intersection over union."""
    assert shown.shape == wanted.shape, (shown.shape, wanted.shape)
    n = len(palette) + len(GREYS)
    both = _classes(wanted, palette) * n + _classes(shown, palette)
    table = np.bincount(both.ravel(), minlength=n * n).reshape(n, n)[:, : len(palette)]
    either = table.sum(axis=0) + _rows(wanted, palette, n) - np.diag(table)
    seen = either >= FEWEST_SPOTS
    return float((np.diag(table)[seen] / either[seen]).mean())


def _rows(picture: Picture, palette: Sequence[str], n: int) -> Ints:
    counts = np.bincount(_classes(picture, palette).ravel(), minlength=n)
    return np.asarray(counts[: len(palette)])


def _classes(picture: Picture, palette: Sequence[str]) -> Ints:
    """(h, w), index of the nearest colour of the palette; paper and the like come last.

    The farthest channel decides, so that the blend at an edge seldom looks like a third.
    """
    known = np.array(
        [[int(c[k : k + 2], 16) for k in (1, 3, 5)] for c in (*palette, *GREYS)]
    )
    red, green, blue = np.moveaxis(picture.astype(np.int64), -1, 0)
    packed = (red << 16) | (green << 8) | blue
    found, where = np.unique(packed, return_inverse=True)
    channels = np.stack([found >> 16, found >> 8 & 255, found & 255], axis=-1)
    away = np.abs(channels[:, None] - known).max(axis=-1)  # (n_found, n_colours)
    nearest = np.where(away.min(axis=-1) > NEAR, len(known) - 1, away.argmin(axis=-1))
    return np.asarray(nearest[where].reshape(packed.shape))


def on_paper(picture: Image.Image) -> Picture:
    """A see-through picture laid on the paper of ours."""
    paper = Image.new("RGBA", picture.size, PAPER)
    paper.alpha_composite(picture.convert("RGBA"))
    return np.asarray(paper.convert("RGB"), dtype=np.float64)


def prove(
    shown: Callable[[int], Picture],
    raster: Raster,
    *,
    bar: float,
    frames: Sequence[int],
    flip: int = 0,
) -> None:
    """Every frame is right, and would not pass were it wrong.

    Four faults are planted in turn, each of which must fall below the bar: one pixel off,
    one frame late, a piece missing, and at frame `flip` the draw order of the frame before.
    """
    assert len(frames) >= 5
    pictures = {frame: shown(frame) for frame in frames}
    palette = raster.palette
    for frame, picture in pictures.items():
        wanted = raster.picture(frame)
        got = likeness(picture, wanted, palette)
        assert got >= bar, f"frame {frame}: {got:.4f}"
        moved = likeness(np.roll(picture, (1, 1), axis=(0, 1)), wanted, palette)
        assert moved < bar, f"frame {frame}, one pixel off: {moved:.4f}"
        missing = raster.picture(frame, without=_middling(picture, palette))
        less = likeness(picture, missing, palette)
        assert less < bar, f"frame {frame}, a piece missing: {less:.4f}"
    middle = frames[len(frames) // 2]
    late = likeness(pictures[middle], raster.picture(middle + 1), palette)
    assert late < bar, f"one frame late: {late:.4f}"
    if flip:
        before = raster.picture(flip, depth=raster.rig.depth[flip - 1])
        wrong = likeness(pictures[flip], before, palette)
        assert wrong < bar, f"wrong order: {wrong:.4f}"


def _middling(picture: Picture, palette: Sequence[str]) -> int:
    """The piece in the middle of all by visible size: neither a giant nor a speck."""
    counts = np.bincount(_classes(picture, palette).ravel(), minlength=len(palette))
    pieces = counts[1 : len(palette)]
    order = [int(k) for k in np.argsort(pieces) if pieces[k] >= FEWEST_SPOTS]
    return order[len(order) // 2]
