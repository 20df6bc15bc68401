"""Lays pieces edge to edge: all of a puzzle in turn, or each into the gaps of a layout."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import cast

from shapely.geometry.base import BaseGeometry

from panelbeater.assignment.candidates import Placement
from panelbeater.assignment.flush import Border, Edges, flush_placements
from panelbeater.assignment.search import Search, may_cover
from panelbeater.assignment.table import Case
from panelbeater.effort import QUIET, Effort
from panelbeater.geometry.overlay import joined, without
from panelbeater.terms.arrays import Ints
from panelbeater.terms.drawing import Shape

PER_REGION = 2
"""Placements of one piece along one border."""
SEAM = 0.1
"""Gaps narrower than twice this, in steps of the raster, are no gaps."""


def jigsaw_placements(
    search: Search, *, effort: Effort = QUIET
) -> tuple[list[Placement], list[int]]:
    """For pieces that may change neither size nor shape: the best few along every region,
    and then, like a jigsaw, whichever lies on a border with most of its outline is laid for
    good, and the border of what is left bare is tried in its place. Also tells which of the
    placements were laid.

    Pieces that give way find better places on the raster, in a hundred shapes.
    """
    edges = [Edges.of(ways.form) for ways in search.ways]
    left = [i for i, ways in enumerate(search.ways) if ways.form.is_rigid]
    bones, found = search.figure.bones, list[Placement]()
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
        (i, r), k = max(best.items(), key=lambda item: found[item[1]].score)
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
                border = _gap(search, laid, r, but=i)
            else:
                border = gaps[r] = gaps[r] if r in gaps else _gap(search, laid, r)
            if border:
                yield from flush_placements(edges, border, search.ground, PER_REGION)


def _gap(
    search: Search, laid: Sequence[Placement], region: int, but: int = -1
) -> Border | None:
    others = [p.outline for p in laid
              if p.region == region and p.piece != but and not p.stowed]  # fmt: skip
    whole = search.figure.bones[region].region
    return _border(search, region, without(whole, joined(others)) if others else whole)


def _border(search: Search, region: int, bare: BaseGeometry) -> Border | None:
    """To lay pieces along; None where less than a cell is bare."""
    step = search.cells.step
    if bare.area < step**2:
        return None
    return Border.of(region, search.figure.bones[region], cast(Shape, bare), step)
