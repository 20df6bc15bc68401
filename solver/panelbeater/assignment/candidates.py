"""Where each piece could lie on each region: placements found by raster correlation."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import fft

from panelbeater.assignment.options import AssignmentOptions
from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.frames import map_shape, moved, rigid
from panelbeater.terms.arrays import Affines, Floats, Ints
from panelbeater.terms.drawing import Piece, Shape
from panelbeater.terms.figure import Bone, Figure


@dataclass(frozen=True, slots=True, eq=False)
class Placement:
    """One way to lay one piece on one region."""

    piece: int
    region: int
    stage_from_piece: Affines
    scale: float
    stretch: float
    outline: Shape
    """On the stage."""
    score: float
    """Own-region area less spill and span, drawing units squared."""
    stowed: bool = False
    """It ends hidden in this limb and covers nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class PieceForm:
    """A piece in its own frame, with the axis it may be stretched along."""

    index: int
    outline: Shape
    axis: float
    """Radians of the long side of the tightest box."""
    extent: float
    """Radius about the centroid."""
    shapes: Floats
    """(n_shapes, 2): allowed scale and stretch pairs."""
    ways: Floats
    """(n_shapes, 2, 2): the linear parts they stand for."""
    kept: np.ndarray
    """(n_shapes,) bool: the piece still looks as it did in the vehicle."""


def piece_form(index: int, piece: Piece, options: AssignmentOptions) -> PieceForm:
    """Centre a piece on its centroid and list its allowed sizes and stretches."""
    centre = piece.outline.centroid
    outline = map_shape(moved(-centre.x, -centre.y), piece.outline)
    axis = long_axis(outline)
    reach = shapely.get_coordinates(outline)
    allowed = piece.allowance
    scales = sorted({float(np.clip(s, allowed.scale_min, allowed.scale_max))
                     for s in options.scale_steps})  # fmt: skip
    stiff = piece.signature or piece.kind == "wheel"
    stretches = [1.0] if stiff else [
        s for s in options.stretch_steps if max(s, 1 / s) <= allowed.stretch_max
    ]  # fmt: skip
    shapes = np.array([(s, t) for s in scales for t in stretches])
    ways = np.array([stretch_matrix(s, t, axis) for s, t in shapes])
    kept = np.array([is_kept(s, max(t, 1 / t), options) for s, t in shapes])
    return PieceForm(
        index, outline, axis, float(np.hypot(*reach.T).max()), shapes, ways, kept
    )


def is_kept(scale: float, stretch: float, options: AssignmentOptions) -> bool:
    """True when a piece still looks as it did in the vehicle."""
    return abs(scale - 1) <= options.keep_scale and stretch <= options.keep_stretch


def long_axis(outline: Shape) -> float:
    """Radians of the long side of the tightest rectangle round an outline."""
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    sides = np.diff(box[:3], axis=0)
    side = sides[np.argmax(np.hypot(sides[:, 0], sides[:, 1]))]
    return float(np.arctan2(side[1], side[0]))


def stretch_matrix(scale: float, stretch: float, axis: float) -> Floats:
    """(2, 2): `scale` overall, longer by sqrt(stretch) along `axis`, thinner across it."""
    turn = rigid(np.zeros(2), np.array(axis))[:2, :2]
    sides = np.diag([scale * stretch**0.5, scale / stretch**0.5])
    out: Floats = turn @ sides @ turn.T
    return out


def find_placements(
    pieces: Sequence[Piece],
    figure: Figure,
    ground: float,
    options: AssignmentOptions,
    effort: Effort = QUIET,
) -> list[Placement]:
    """All placements worth offering to the solver, in a fixed order.

    Grows with pieces x regions x (angles x shapes) x raster^2 log raster.
    """
    shapely.prepare(figure.silhouette)
    found: list[Placement] = []
    windows = [
        _Window(i, bone, figure, ground, options) for i, bone in enumerate(figure.bones)
    ]
    for index, piece in enumerate(pieces):
        if effort.is_stopped:
            break
        effort.note(f"trying {piece.id} on every region ({index + 1} of {len(pieces)})")
        form = piece_form(index, piece, options)
        mine: list[Placement] = []
        for window in windows:
            if not _may_cover(piece, window.bone.id):
                continue
            mine.extend(window.search(form))
        mine.sort(key=lambda p: (-p.score, p.region))
        kept: list[Placement] = []
        count = dict.fromkeys(range(len(windows)), 0)
        for place in mine:
            if len(kept) < options.per_piece or count[place.region] < 2:
                kept.append(place)
                count[place.region] += 1
        found.extend(kept)
    return found


def _may_cover(piece: Piece, region: str) -> bool:
    pin = piece.wishes.pin
    return region not in piece.wishes.bans and (pin is None or pin == region)


class _Window:
    """A raster round one region that knows what every spot is worth."""

    def __init__(
        self,
        index: int,
        bone: Bone,
        figure: Figure,
        ground: float,
        options: AssignmentOptions,
    ) -> None:
        self.index, self.bone, self.options, self.ground = index, bone, options, ground
        x0, y0, x1, y1 = bone.region.bounds
        n = options.raster
        side = max(x1 - x0, y1 - y0) * 1.5
        self.cell = side / n
        self.origin = np.array([(x0 + x1 - side) / 2, (y0 + y1 - side) / 2])
        self.size = fft.next_fast_len(2 * n)
        # The worth map is padded on all sides: a piece that hangs over the window still
        # pays.
        at = (np.arange(2 * n) + 0.5 - n / 2) * self.cell
        xs, ys = np.meshgrid(self.origin[0] + at, self.origin[1] + at)
        own = shapely.contains_xy(bone.region, xs, ys)
        inside = shapely.contains_xy(figure.silhouette, xs, ys)
        worth = np.where(inside, -options.span_price, -options.spill_price)
        worth[own] = 1.0
        worth[ys > ground] = -10.0  # nothing may sink into the ground
        self.spectrum = fft.rfft2(worth.astype(np.float32), (self.size, self.size))
        self.angle = float(np.arctan2(*(bone.end - bone.start)[::-1]))

    def search(self, form: PieceForm) -> Iterator[Placement]:
        """The best few placements of a piece here, all of them touching the bare body."""
        n_angles, n = self.options.n_angles, self.options.raster
        turns = self.angle - form.axis + 2 * np.pi * np.arange(n_angles) / n_angles
        rotation = rigid(np.zeros((n_angles, 2)), turns)[:, :2, :2]
        linear = (rotation[:, None] @ form.ways[None]).reshape(-1, 2, 2)
        masks = self._masks(form, linear)
        # Correlation of worth with mask: one product in the frequency domain for all ways.
        product = self.spectrum * np.conj(fft.rfft2(masks, (self.size, self.size)))
        value = fft.irfft2(product, (self.size, self.size))[:, : n + 1, : n + 1]
        # What sticks out of the raster itself is spill too.
        drawn = form.outline.area * np.linalg.det(linear) / self.cell**2
        beyond = np.maximum(0.0, drawn - masks.sum(axis=(1, 2)))
        value -= self.options.spill_price * beyond[:, None, None]
        for way, row, column in self._peaks(value, form):
            # A mask is centred on cell n / 2 of an n-cell square.
            centre = self.origin + (np.array([column, row]) + 0.5) * self.cell
            place = np.eye(3)
            place[:2, :2], place[:2, 2] = linear[way], centre
            outline = map_shape(place, form.outline)
            low = outline.bounds[3] - self.ground
            if low > 0:
                place[1, 2] -= low
                outline = map_shape(moved(0, -low), outline)
            if not outline.intersects(self.bone.body):
                continue
            scale, stretch = form.shapes[way % len(form.shapes)]
            yield Placement(
                form.index,
                self.index,
                place,
                float(scale),
                float(max(stretch, 1 / stretch)),
                outline,
                float(value[way, row, column]) * self.cell**2,
            )

    def _masks(self, form: PieceForm, linear: Floats) -> NDArray[np.float32]:
        """(n_ways, n, n) rasters of the piece in every way, its centroid on cell n / 2."""
        n = self.options.raster
        at = ((np.arange(n) - n / 2) * self.cell).astype(np.float32)
        grid = np.stack(np.meshgrid(at, at), axis=-1).reshape(-1, 2)  # (n * n, 2)
        turned_back = np.swapaxes(np.linalg.inv(linear), -1, -2).astype(np.float32)
        back = grid @ turned_back  # (n_ways, n * n, 2)
        fine = 64
        step = 2.02 * form.extent / fine
        ticks = (np.arange(fine) + 0.5) * step - 1.01 * form.extent
        lookup = shapely.contains_xy(form.outline, *np.meshgrid(ticks, ticks))
        # One empty row and column all round catches every spot off the piece.
        padded = np.zeros((fine + 2, fine + 2), dtype=np.float32)
        padded[1:-1, 1:-1] = lookup
        spot = ((back + 1.01 * form.extent) / step + 1).clip(0, fine + 1).astype(np.int32)
        return padded[spot[..., 1], spot[..., 0]].reshape(-1, n, n)

    def _peaks(self, value: Floats, form: PieceForm) -> Iterator[tuple[int, int, int]]:
        """Good and different placements; half of them keep the piece as drawn."""
        ways = np.arange(len(value)) % len(form.shapes)
        kept = np.flatnonzero(form.kept[ways])
        half = self.options.per_region // 2
        seen = set()
        for pool in (kept, np.arange(len(value))):
            for way, row, column in self._spots(value[pool], pool, form, half):
                if (way, row, column) not in seen:
                    seen.add((way, row, column))
                    yield way, row, column

    def _spots(
        self, value: Floats, pool: Ints, form: PieceForm, n_best: int
    ) -> Iterator[tuple[int, int, int]]:
        """The best way at each of several spots apart from each other, best first."""
        if len(pool) == 0:
            return
        best_way, best = pool[value.argmax(axis=0)], value.max(axis=0)  # (n + 1, n + 1)
        reach = max(2, round(0.35 * form.extent / self.cell))
        taken = np.zeros_like(best, dtype=bool)
        for flat in np.argsort(-best, axis=None, kind="stable"):
            row, column = divmod(int(flat), best.shape[1])
            if taken[row, column]:
                continue
            taken[max(0, row - reach) : row + reach + 1,
                  max(0, column - reach) : column + reach + 1] = True  # fmt: skip
            yield int(best_way[row, column]), row, column
            n_best -= 1
            if n_best == 0:
                return
