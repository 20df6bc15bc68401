"""Cut the silhouette into fifteen clean regions that share it without gap or overlap."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import shapely
from scipy.ndimage import binary_dilation
from shapely import MultiPolygon, Polygon
from shapely.affinity import scale

from panelbeater.figure.labels import spread
from panelbeater.figure.sheet import PAD, Mask, Sheet, as_shape
from panelbeater.terms.arrays import Ints
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import BONE_IDS

_SMOOTH = 3.0
"""Squares a border may move when its staircase is made smooth."""
_SPLINTER = 0.12
"""Detached parts below this share of their region go to the neighbour they touch."""
_COVERS: dict[str, tuple[str, ...]] = {
    "upper_arm": ("forearm", "hand"), "forearm": ("hand",),
    "thigh": ("shank", "foot"), "shank": ("foot",),
    "torso": ("waist",), "waist": ("torso",),
}  # fmt: skip
"""What a drawn region also stands for as long as no shape names it: an arm has a hand."""


def cut_regions(
    body: Shape, sheet: Sheet, labels: Ints, named: Mapping[str, Shape], *, even: bool
) -> dict[str, Shape]:
    """Region of every bone, body frame; together exactly `body`, all fifteen non-empty.

    `named` are visible parts drawn as regions; they keep their drawn edges. What they do
    not name is divided by `labels`; the rest goes to the nearest of them.
    """
    pieces: dict[str, list[Shape]] = {name: [] for name in BONE_IDS}
    rest, fixed = body, np.full(labels.shape, -1, dtype=np.int64)
    covered: set[str] = set(named)
    for name in sorted(named):
        own = [name, *_also(name, named)]
        covered.update(own)
        part = as_shape(named[name].intersection(rest))
        rest = as_shape(rest.difference(part))
        held = labels if len(own) > 1 else np.full_like(labels, BONE_IDS.index(name))
        held = _only(held, own)
        here = _squares(part, sheet)
        fixed[here] = held[here]
        _share(pieces, part, held, sheet, even=False)
    if named:
        free = [BONE_IDS.index(name) for name in BONE_IDS if name not in covered]
        fixed = np.where((fixed < 0) & np.isin(labels, free), labels, fixed)
        labels = spread(fixed, fixed >= 0)
    _share(pieces, rest, labels, sheet, even=even and not named)
    regions = {name: as_shape(shapely.union_all(parts)) for name, parts in pieces.items()}
    return _filled(_without_splinters(regions), body)


def _also(name: str, named: Mapping[str, Shape]) -> list[str]:
    """Unnamed bones further along the limb that the shape called `name` stands for too."""
    base, side = (name[:-2], name[-2:]) if name[-2:] in ("_l", "_r") else (name, "")
    out = []
    for follower in _COVERS.get(base, ()):
        if follower + side in named:
            break
        out.append(follower + side)
    return out


def _only(labels: Ints, own: list[str]) -> Ints:
    """Labels among `own` alone; other squares take the nearest of them."""
    known = np.isin(labels, [BONE_IDS.index(name) for name in own])
    if not known.any():
        return np.full_like(labels, BONE_IDS.index(own[0]))
    return spread(labels, known)


def _squares(shape: Shape, sheet: Sheet) -> Mask:
    rows, columns = np.indices(sheet.joined.shape)
    shapely.prepare(shape)
    return np.asarray(shapely.contains_xy(shape, sheet.u(columns), sheet.v(rows)))


def _share(
    pieces: dict[str, list[Shape]],
    area: Shape,
    labels: Ints,
    sheet: Sheet,
    *,
    even: bool,
) -> None:
    """Divide `area` by smooth cells round equal labels."""
    if area.is_empty:
        return
    found = np.unique(labels)
    if len(found) == 1:
        pieces[BONE_IDS[int(found[0])]].append(area)
        return
    for name, cell in _cells(labels, sheet, even=even).items():
        part = as_shape(area.intersection(cell))
        if not part.is_empty:
            pieces[name].append(part)


def _cells(labels: Ints, sheet: Sheet, *, even: bool) -> dict[str, Shape]:
    """One polygon a label; borders are smoothed together, so that they agree."""
    first = sheet.half if even else 0
    cut = labels[:, first:]
    rows, columns = np.indices(cut.shape)
    # Whole numbers, so that neighbouring squares share their corners exactly.
    right, down = columns + first - sheet.half, rows - PAD
    squares = shapely.box(right, down, right + 1, down + 1)
    # Squares far from the figure only cost time.
    near = binary_dilation(sheet.joined | sheet.drawn, iterations=4)
    near = (near | near[:, ::-1])[:, first:] if even else near
    found = np.unique(cut[near])
    blocks = [shapely.coverage_union_all(squares[near & (cut == k)]) for k in found]
    smooth = shapely.coverage_simplify(blocks, tolerance=_SMOOTH, simplify_boundary=False)
    out: dict[str, list[shapely.Geometry]] = {}
    for k, block in zip(found, smooth, strict=True):
        cell = scale(block, sheet.px, sheet.px, origin=(0, 0))
        name = BONE_IDS[int(k)]
        out.setdefault(name, []).append(cell)
        if even:
            other = name[:-2] + "_r" if name.endswith("_l") else name
            out.setdefault(other, []).append(scale(cell, -1.0, 1.0, origin=(0, 0)))
    return {name: as_shape(shapely.union_all(parts)) for name, parts in out.items()}


def _without_splinters(regions: dict[str, Shape]) -> dict[str, Shape]:
    """Move slivers that a border cut off to the region they hang on."""
    kept: dict[str, list[Polygon]] = {}
    loose: list[tuple[str, Polygon]] = []
    for name, region in regions.items():
        parts = sorted(shapely.get_parts(region), key=lambda p: (-p.area, p.bounds))
        least = _SPLINTER * region.area
        kept[name] = [p for p in parts if p.area >= least]
        loose += [(name, p) for p in parts if p.area < least]
    whole = {name: as_shape(MultiPolygon(parts)) for name, parts in kept.items()}
    for name, part in loose:
        shared = {
            other: part.boundary.intersection(region.boundary).length
            for other, region in whole.items()
        }
        best = max(BONE_IDS, key=lambda other: (shared[other], other == name))
        kept[best if shared[best] > 1e-9 else name].append(part)
    return {name: as_shape(shapely.union_all(parts)) for name, parts in kept.items()}


def _filled(regions: dict[str, Shape], body: Shape) -> dict[str, Shape]:
    """Carve a small patch for any region that ended up without area."""
    for name in BONE_IDS:
        if regions[name].area > 1e-7:
            continue
        donor = max(BONE_IDS, key=lambda other: regions[other].area)
        spot = regions[donor].representative_point()
        patch = as_shape(regions[donor].intersection(spot.buffer(0.01)))
        regions[donor] = as_shape(regions[donor].difference(patch))
        regions[name] = as_shape(shapely.union_all([regions[name], patch]))
    return regions
