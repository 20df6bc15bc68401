"""Each piece in a colour of its own, our raster of it, and how alike two rasters are."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
from PIL import Image

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
from panelbeater.geometry.stage import bone_transforms, piece_outlines
from panelbeater.terms.arrays import Affines, Floats, Ints
from panelbeater.terms.drawing import Shape
from panelbeater.terms.rig import Rig, Sample

VECTOR_BAR, CANVAS_BAR = 0.985, 0.97
"""Likeness a right file reaches; canvas players and videos soften edges."""
FINER = 2
"""Our raster is painted so much finer and then averaged."""
SAME, NEAR = 12.0, 72.0
"""How far a channel may be off for the very colour, and from where on it is another."""
FEWEST = 1e-3
"""A colour seen in a smaller share of the picture is all edge and proves nothing."""
Picture = Floats
"""(h, w, 3), 0 to 255."""


def colours(n: int) -> list[str]:
    """`n` colours far from each other and from paper and body.

    They lie on the faces of the colour cube: the blend of two, as at an edge, lies inside
    and so seldom looks like a third.
    """
    levels = (0, 85, 170, 255)
    paper = _channels(PAPER)
    faces = [
        colour
        for colour in product(levels, repeat=3)
        if (0 in colour or 255 in colour) and np.abs(paper - colour).max() > NEAR + SAME
    ]
    free = np.array(faces, dtype=np.float64)
    away = np.min([_distance(free, _channels(c)) for c in (PAPER, BODY_FILL)], axis=0)
    chosen = []
    for _ in range(n):
        best = int(away.argmax())
        chosen.append("#{:02x}{:02x}{:02x}".format(*faces[best]))
        away = np.minimum(away, _distance(free, free[best]))
    assert len(set(chosen)) == n, "more pieces than colours that can be told apart"
    return chosen


def _channels(colour: str) -> Floats:
    return np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)], dtype=np.float64)


def _distance(colours: Floats, other: Floats) -> Floats:
    return np.asarray(np.linalg.norm(colours - other, axis=-1))


def flat_rig(rig: Rig, *, without: str = "") -> Rig:
    """The rig with each piece as one flat shape; one piece may be left unpainted."""
    pieces = tuple(
        replace(
            piece,
            colour=colour,
            artwork="" if piece.id == without else _flat(piece.outline, colour),
            redrawn=piece.redrawn
            and replace(piece.redrawn, artwork=_flat(piece.redrawn.outline, colour)),
        )
        for piece, colour in zip(
            rig.drawing.pieces, colours(len(rig.drawing.pieces)), strict=True
        )
    )
    return replace(rig, drawing=replace(rig.drawing, pieces=pieces, defs=""))


def _flat(outline: Shape, colour: str) -> str:
    return f'<path d="{path_data(outline, 6)}" fill="{colour}" fill-rule="evenodd"/>'


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
    has_floor: bool = False

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

    def halved(self) -> Raster:
        """For a picture that is averaged down to half its size."""
        zoom = (self.zoom[0] / 2, self.zoom[1] / 2)
        return replace(self, zoom=zoom, size=(self.size[0] // 2, self.size[1] // 2))

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
            f'<path d="{path_data(bone.body, 6)}" transform="matrix({_six(placed)})"/>'
            for bone, placed in zip(
                self.rig.figure.bones,
                bone_transforms(self.rig, self.sample)[frame],
                strict=True,
            )
        )
        line = f'stroke="{BODY_EDGE}" stroke-width="{edge}"' if self.has_body_edge else ""
        floor = (
            f'<path d="M{window.x} {self.rig.ground}h{window.width}" '
            f'stroke="{GROUND_LINE}" stroke-width="{window.height / 300}"/>'
        ) * self.has_floor
        order = np.argsort(self.rig.depth[frame] if depth is None else depth)
        outlines = piece_outlines(self.rig, self.sample, frame)
        art = "".join(
            f'<path d="{path_data(outlines[i], 6)}" fill-rule="evenodd" '
            f'fill="{self.rig.drawing.pieces[i].colour}"/>'
            for i in order
            if i != without and self.sample.visible[frame, i]
        )
        svg = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{FINER * self.size[0]}" '
            f'height="{FINER * self.size[1]}"><g transform="scale({FINER}) '
            f"scale({self.zoom[0]} {self.zoom[1]}) "
            f'translate({-window.x} {-window.y})">{floor}'
            f'<g fill="{BODY_FILL}" {line}>{body}</g>{art}</g></svg>'
        )
        return np.asarray(rasterise(svg).reduce(FINER), dtype=np.float64)

    @property
    def palette(self) -> list[str]:
        return [BODY_FILL, *(piece.colour for piece in self.rig.drawing.pieces)]


def _six(matrix: Affines) -> str:
    return " ".join(repr(float(v)) for v in matrix[:2].T.ravel())


def likeness(shown: Picture, wanted: Picture, palette: Sequence[str]) -> float:
    """Mean over all colours seen in either picture of intersection over union.

    A pixel belongs to a colour in part, as near as it comes to it: a painter's rounding at
    an edge weighs little, an edge in another place weighs in full.
    """
    assert shown.shape == wanted.shape, (shown.shape, wanted.shape)
    pairs, counts = np.unique(_packed(shown) << 24 | _packed(wanted), return_counts=True)
    theirs = _belonging(pairs >> 24, palette)  # (n_pairs, n_colours)
    ours = _belonging(pairs & 0xFFFFFF, palette)
    both, either = counts @ np.minimum(ours, theirs), counts @ np.maximum(ours, theirs)
    seen = either >= FEWEST * shown.shape[0] * shown.shape[1]
    return float((both[seen] / either[seen]).mean())


def _packed(picture: Picture) -> Ints:
    red, green, blue = np.moveaxis(picture.astype(np.int64), -1, 0)
    return np.asarray((red << 16) | (green << 8) | blue)


def _belonging(packed: Ints, palette: Sequence[str]) -> Floats:
    """(n, n_colours), 1 for the very colour down to 0 for one that is NEAR or farther."""
    known = np.array([_channels(colour) for colour in palette])
    channels = np.stack([packed >> 16, packed >> 8 & 255, packed & 255], axis=-1)
    away = np.abs(channels[:, None] - known).max(axis=-1)
    return np.asarray(np.clip((NEAR - away) / (NEAR - SAME), 0.0, 1.0))


def on_paper(picture: Image.Image) -> Picture:
    """A see-through picture laid on the paper of ours."""
    paper = Image.new("RGBA", picture.size, PAPER)
    paper.alpha_composite(picture.convert("RGBA"))
    return np.asarray(paper.convert("RGB"), dtype=np.float64)


def halved(picture: Picture) -> Picture:
    """Averaged down, so that half colours of a video and rounded places weigh less."""
    return np.asarray(
        Image.fromarray(picture.astype(np.uint8))
        .crop((0, 0, picture.shape[1] // 2 * 2, picture.shape[0] // 2 * 2))
        .reduce(2),
        dtype=np.float64,
    )


def prove(
    shown: Callable[[int], Picture],
    raster: Raster,
    *,
    bar: float,
    frames: Sequence[int],
    flip: int = 0,
    before: int | None = None,
) -> None:
    """Every frame is right, and would not pass were it wrong.

    Four faults are planted in turn, each of which must fall below the bar: one pixel off,
    one frame late, a piece missing, and at frame `flip` the draw order of frame `before`,
    else of the frame before it.
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
        earlier = raster.rig.depth[flip - 1 if before is None else before]
        wrong = likeness(pictures[flip], raster.picture(flip, depth=earlier), palette)
        assert wrong < bar, f"wrong order: {wrong:.4f}"


def _middling(picture: Picture, palette: Sequence[str]) -> int:
    """The piece in the middle of all by visible size: neither a giant nor a speck."""
    found, counts = np.unique(_packed(picture), return_counts=True)
    pieces = counts @ _belonging(found, palette[1:])
    fewest = FEWEST * picture.shape[0] * picture.shape[1]
    order = [int(k) for k in np.argsort(pieces) if pieces[k] >= fewest]
    return order[len(order) // 2]
