"""Lays pieces edge to edge: all of a puzzle in turn, each into the gaps of a layout, or two
in each other's place.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import combinations, product
from typing import cast

from shapely.geometry.base import BaseGeometry

from panelbeater.assignment.candidates import Placement
from panelbeater.assignment.flush import Border, Edges, flush_placements
from panelbeater.assignment.search import Search, may_cover
from panelbeater.assignment.table import Case
from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.overlay import joined, shared_areas, without
from panelbeater.terms.arrays import Ints
from panelbeater.terms.drawing import Shape

PER_REGION = 2
"""Placements of one piece along one border."""
LONG_FIRST = 0.25
"""Of five robots in 30 and 40 pieces 0 laid four whole, this four; one of them all five."""
SAME_AREA = 0.1
"""Share by which two pieces may differ in area that are tried in each other's place."""
LOOSE = 0.01
"""Share of a piece off its region or on others from which it may be in a wrong place."""
SEAM = 0.1
"""Gaps narrower than twice this, in steps of the raster, are no gaps."""


def jigsaw_placements(
    search: Search, *, effort: Effort = QUIET
) -> tuple[list[Placement], list[int]]:
    """For pieces that may change neither size nor shape: the best few along every region,
    and then, like a jigsaw, whichever lies on a border with most of its outline is laid for
    good, and the border of what is left bare is tried in its place. Where that leaves a
    piece over, long outlines go first in a second try. Also tells which of the placements
    were laid, in the try that laid more.

    Pieces that give way find better places on the raster, in a hundred shapes.
    """
    rigid = [i for i, ways in enumerate(search.ways) if ways.form.is_rigid]
    found, laid = _in_turn(search, rigid, 0.0, effort)
    if len(laid) < len(rigid):
        more, again = _in_turn(search, rigid, LONG_FIRST, effort)
        if len(again) > len(laid):
            laid = [len(found) + k for k in again]
        found += more
    return found, laid


def _in_turn(
    search: Search, rigid: Sequence[int], power: float, effort: Effort
) -> tuple[list[Placement], list[int]]:
    """One try; a share of a long outline on the border weighs more by its length to a
    power.
    """
    edges = [Edges.of(ways.form) for ways in search.ways]
    weight = [ways.form.outline.length**power for ways in search.ways]
    left, bones, found = list(rigid), search.figure.bones, list[Placement]()
    bare: list[BaseGeometry] = [bone.region for bone in bones]
    best: dict[tuple[int, int], int] = {}
    laid: list[int] = []
    todo = list(range(len(bones))) if left else []
    while todo and not effort.is_stopped:
        for r in todo:
            border = _border(search, r, bare[r])
            for i in left:
                best.pop((i, r), None)
                if border and may_cover(search.pieces[i], bones[r].id):
                    fresh = flush_placements(edges[i], border, search.ground, PER_REGION)
                    best |= {(i, r): len(found)} if fresh else {}
                    found += fresh
        if not best:
            break
        (i, r), k = max(best.items(), key=lambda at: found[at[1]].score * weight[at[0][0]])
        laid.append(k)
        best = {pair: other for pair, other in best.items() if pair[0] != i}
        left.remove(i)
        seam = SEAM * search.cells.step
        bare[r] = without(bare[r], found[k].outline).buffer(-seam).buffer(seam)
        todo = [r]
    return found, laid


def placements_in_gaps(search: Search, case: Case, chosen: Ints) -> Iterator[Placement]:
    """The same pieces along what a layout (n_pieces,) leaves bare of the regions they may
    cover; of the one a piece lies on, with that piece away.
    """
    laid = [case.placements[j] for j in chosen]
    gaps: dict[int, Border | None] = {}
    for i, ways in enumerate(search.ways):
        if not ways.form.is_rigid:
            continue
        edges = Edges.of(ways.form)
        for r in sorted(
            {p.region for p in case.placements if p.piece == i and not p.stowed}
        ):
            if r == laid[i].region and not laid[i].stowed:
                border = _gap(search, laid, r, but=(i,))
            else:
                border = gaps[r] = gaps[r] if r in gaps else _gap(search, laid, r)
            if border:
                yield from flush_placements(edges, border, search.ground, PER_REGION)


def exchanged(search: Search, laid: Sequence[Placement]) -> tuple[Placement, ...]:
    """The layout with pieces in each other's place wherever more of their regions is
    covered so by exact areas: what nearly fits in two places looks the same on the cells.

    Only plain pieces that may change neither size nor shape and fit loosely where they lie.
    """
    done = list(laid)
    loose = [i for i in range(len(done)) if _is_loose(search, done, i)]
    for i, j in combinations(loose, 2):
        small, large = sorted(done[k].outline.area for k in (i, j))
        if large - small <= SAME_AREA * large:
            both, ways = {i, j}, [(done[i], done[j]), *_swaps(search, done, i, j)]
            won = [_won(search, done, both, pair) for pair in ways]
            done[i], done[j] = ways[won.index(max(won))]  # of equals the first: as it is
    return tuple(done)


def _is_loose(search: Search, laid: Sequence[Placement], i: int) -> bool:
    place, piece = laid[i], search.pieces[i]
    if not search.ways[i].form.is_rigid or piece.signature or place.stowed:
        return False
    snug = shared_areas(place.outline, _bare(search, laid, place.region, but=(i,)))
    return float(snug) < (1 - LOOSE) * place.outline.area


def _swaps(
    search: Search, laid: Sequence[Placement], i: int, j: int
) -> Iterator[tuple[Placement, Placement]]:
    """Each laid along what is bare of the other's region with both away."""
    ways = (search.ways[i], search.ways[j])
    regions = (laid[j].region, laid[i].region)
    for way, region in zip(ways, regions, strict=True):
        if not may_cover(way.piece, search.figure.bones[region].id):
            return
    found = []
    for way, region in zip(ways, regions, strict=True):
        border = _gap(search, laid, region, but=(i, j))
        edges = Edges.of(way.form)
        found.append(
            flush_placements(edges, border, search.ground, PER_REGION) if border else []
        )
    yield from product(*found)


def _won(
    search: Search,
    laid: Sequence[Placement],
    but: Collection[int],
    pair: tuple[Placement, Placement],
) -> float:
    """Area that a pair covers of its regions, where nothing else lies."""
    total = 0.0
    for region in {place.region for place in pair}:
        mine = joined([place.outline for place in pair if place.region == region])
        total += float(shared_areas(mine, _bare(search, laid, region, but=but)))
    return total


def _gap(
    search: Search, laid: Sequence[Placement], region: int, but: Collection[int] = ()
) -> Border | None:
    return _border(search, region, _bare(search, laid, region, but=but))


def _bare(
    search: Search, laid: Sequence[Placement], region: int, but: Collection[int]
) -> BaseGeometry:
    others = [p.outline for p in laid
              if p.region == region and p.piece not in but and not p.stowed]  # fmt: skip
    whole = search.figure.bones[region].region
    return without(whole, joined(others)) if others else whole


def _border(search: Search, region: int, bare: BaseGeometry) -> Border | None:
    """To lay pieces along; None where less than a cell is bare."""
    step = search.cells.step
    if bare.area < step**2:
        return None
    return Border.of(region, search.figure.bones[region], cast(Shape, bare), step)
