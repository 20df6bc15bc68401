"""Tidy a drawing into pieces worth moving: backdrops out, parts apart, crumbs kept on."""

from __future__ import annotations

import math
from dataclasses import replace

import shapely
from shapely import Polygon

from panelbeater.drawing.drafts import Draft
from panelbeater.svg import SvgShape, areas_of
from panelbeater.terms.drawing import Shape

CRUMB = 0.003
"""Share of the silhouette below which a shape is no piece of its own (35 icon drawings)."""
DETAIL = 0.015
"""Share below which an unnamed shape that lies wholly on one piece belongs to it."""
NAMED_CRUMB = 0.001
"""A named piece is wanted; only below this share can nobody see it move."""


def roundness(shape: Shape) -> float:
    """4 pi A / P^2 of the outer edge, holes filled; 1 for a disc, 0 for several parts."""
    if not isinstance(shape, Polygon) or shape.is_empty:
        return 0.0
    disc = Polygon(shape.exterior)
    return 4 * math.pi * disc.area / disc.length**2


def silhouette_of(drafts: list[Draft]) -> Shape:
    """Union of all outlines."""
    return areas_of(shapely.union_all([draft.outline for draft in drafts]))


def without_backdrop(
    shapes: list[SvgShape], view_box: tuple[float, float, float, float]
) -> tuple[list[SvgShape], list[str]]:
    """Leave out the page colour behind a drawing and scraps off the page, with warnings."""
    x, y, w, h = view_box
    page = shapely.box(x, y, x + w, y + h)
    kept, warnings = list(shapes), []
    while len(kept) > 1 and _is_backdrop(kept[0].outline, page):
        named = f" '{kept[0].name}'" if kept[0].name else ""
        warnings.append(f"the backdrop{named} that fills the whole page is left out")
        kept = kept[1:]
    on_page = [shape for shape in kept if shape.outline.intersects(page)]
    if on_page and len(on_page) < len(kept):
        warnings.append(f"{len(kept) - len(on_page)} shapes off the page are left out")
        kept = on_page
    return kept, warnings


def _is_backdrop(outline: Shape, page: Polygon) -> bool:
    covers = outline.intersection(page).area >= 0.98 * page.area
    return covers and outline.area >= 0.97 * outline.envelope.area


def _is_free(drafts: list[Draft], moving: Draft, to: float) -> bool:
    """Whether `moving` can be painted at `to` instead without the picture changing."""
    low, high = sorted((moving.order, to))
    for draft in drafts:
        if not low < draft.order < high or draft is moving:
            continue
        if draft.outline.intersection(moving.outline).area > 0.02 * moving.outline.area:
            return False
    return True


def _swap(drafts: list[Draft], out: tuple[Draft, Draft], joined: Draft) -> list[Draft]:
    kept = [draft for draft in drafts if draft is not out[0] and draft is not out[1]]
    return sorted([*kept, joined], key=lambda draft: draft.order)


def with_hubs(drafts: list[Draft]) -> list[Draft]:
    """Join round shapes that share a centre, such as hub and tyre, into one wheel."""
    done = False
    while not done:
        done = True
        discs = [draft for draft in drafts if roundness(draft.outline) > 0.95]
        discs.sort(key=lambda draft: (-draft.outline.envelope.area, draft.order))
        for k, tyre in enumerate(discs):
            hub = next((d for d in discs[k + 1 :] if _is_hub(d, tyre, drafts)), None)
            if hub is not None:
                drafts = _swap(drafts, (tyre, hub), tyre.joined(hub, order=tyre.order))
                done = False
                break
    return drafts


def _is_hub(hub: Draft, tyre: Draft, drafts: list[Draft]) -> bool:
    if hub.name and tyre.name:
        return False
    disc = Polygon(shapely.get_parts(tyre.outline)[0].exterior)
    radius = math.sqrt(disc.area / math.pi)
    if not hub.outline.centroid.distance(disc.centroid) < 0.15 * radius:
        return False
    inside = hub.outline.difference(disc).area < 0.02 * hub.outline.area
    return inside and _is_free(drafts, hub, tyre.order)


def with_crumbs_kept(drafts: list[Draft]) -> list[Draft]:
    """Join crumbs and small details into the piece they sit on, as its artwork.

    Smallest first, so that a rivet on a handle on a door ends up on the door.
    """
    whole = silhouette_of(drafts).area
    # Kept alive here, so that no later draft can take over an id.
    tried: dict[int, Draft] = {}
    while len(drafts) > 1:
        waiting = [
            d for d in drafts if id(d) not in tried and d.outline.area < DETAIL * whole
        ]
        if not waiting:
            break
        crumb = min(waiting, key=lambda draft: (draft.outline.area, draft.order))
        tried[id(crumb)] = crumb
        limit = NAMED_CRUMB if crumb.name else CRUMB
        base = _base_of(crumb, drafts, must_carry=crumb.outline.area >= limit * whole)
        if base is not None and not (crumb.name and crumb.outline.area >= limit * whole):
            joined = replace(base.joined(crumb, order=base.order), name=base.name)
            drafts = _swap(drafts, (base, crumb), joined)
    return drafts


def _base_of(crumb: Draft, drafts: list[Draft], *, must_carry: bool) -> Draft | None:
    """What a crumb sits on: the nearest draft under it, else over it, else beside it."""
    area = crumb.outline.area
    shares = [
        (draft, draft.outline.intersection(crumb.outline).area / area)
        for draft in drafts
        if draft is not crumb and draft.outline.intersects(crumb.outline)
    ]
    under = [pair for pair in shares if pair[0].order < crumb.order and pair[1] > 0.02]
    if under:
        draft, share = max(under, key=lambda pair: pair[0].order)
        carries = share > 0.98 and draft.outline.area > 2 * area
        return draft if carries or not must_carry else None
    if must_carry:
        return None
    over = [pair for pair in shares if pair[0].order > crumb.order and pair[1] > 0.02]
    if over:
        return min(over, key=lambda pair: pair[0].order)[0]
    others = [draft for draft in drafts if draft is not crumb]
    return min(
        others,
        key=lambda draft: (
            draft.outline.distance(crumb.outline),
            not _is_free(drafts, crumb, draft.order),
            -draft.order,
        ),
    )
