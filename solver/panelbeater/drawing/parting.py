"""Take apart what one shape paints in one go: separate parts, twin wheels, lobes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import shapely
from shapely import Polygon

from panelbeater.drawing.drafts import Draft
from panelbeater.drawing.lobes import cut_wheels
from panelbeater.drawing.merging import roundness, silhouette_of
from panelbeater.svg import areas_of
from panelbeater.terms.drawing import Shape

BODY = 0.15
"""Share of the silhouette from which a shape can be a body that wheels grow from."""


def clip_markup(name: str, area: Shape) -> str:
    """A <clipPath> that leaves `area`, drawing units."""
    return (
        f'<clipPath id="{name}"><path clip-rule="evenodd" d="{path_of(area)}"/></clipPath>'
    )


def path_of(shape: Shape) -> str:
    """Path data of all rings of `shape`."""
    words = []
    for polygon in shapely.get_parts(shape):
        for ring in (polygon.exterior, *polygon.interiors):
            corners = " ".join(f"{x:.10g},{y:.10g}" for x, y in ring.coords[:-1])
            words.append(f"M{corners}Z")
    return "".join(words)


@dataclass(slots=True)
class Splitter:
    """Cuts separate parts of unnamed shapes apart; collects the clips this needs."""

    diagonal: float
    defs: str = ""
    n_clips: int = 0

    def split(self, drafts: list[Draft]) -> list[Draft]:
        """Every separate part of an unnamed draft as a draft of its own."""
        found: list[Draft] = []
        for draft in drafts:
            parts = [disc for part in lumps(draft.outline) for disc in kissing_discs(part)]
            found += self._parted(draft, parts) if not draft.name else [draft]
        return found

    def split_wheels(self, drafts: list[Draft]) -> list[Draft]:
        """Where no wheel is drawn on its own, cut wheels out of what they grow from."""
        floor = silhouette_of(drafts)
        y0, y1 = floor.bounds[1], floor.bounds[3]
        for draft in drafts:
            if roundness(draft.outline) > 0.95 and draft.outline.centroid.y > (y0 + y1) / 2:
                return drafts
        found: list[Draft] = []
        for draft in drafts:
            parts = [
                piece for part in lumps(draft.outline) for piece in cut_wheels(part, floor)
            ]
            found += self._parted(draft, parts) if not draft.name else [draft]
        return found

    def _parted(self, draft: Draft, parts: list[Polygon]) -> list[Draft]:
        if len(parts) < 2:
            return [draft]
        parts = sorted(parts, key=lambda part: part.bounds)
        # Small steps: a shape split twice must stay below the next one.
        return [
            self._one(
                draft,
                part,
                areas_of(shapely.union_all(parts[:k] + parts[k + 1 :])),
                k / len(parts) / 100,
            )
            for k, part in enumerate(parts)
        ]

    def _one(self, draft: Draft, part: Polygon, others: Shape, step: float) -> Draft:
        # The clip runs well outside the art, and half way where another part is near.
        reach = 0.01 * self.diagonal
        near = others.buffer(min(part.distance(others) / 2, reach))
        room = areas_of(part.buffer(reach, join_style="mitre").difference(near).union(part))
        if part.intersects(others):
            room = areas_of(room.union(part.buffer(0.1 * reach)))
        self.n_clips += 1
        name = f"pb-part-{self.n_clips}"
        self.defs += clip_markup(name, room)
        return replace(
            draft,
            outline=part,
            artwork=f'<g clip-path="url(#{name})">{draft.artwork}</g>',
            colour_area=part.area,
            order=draft.order + step,
        )


def lumps(outline: Shape) -> list[Polygon]:
    """The separate polygons of an outline."""
    return [part for part in shapely.get_parts(outline) if isinstance(part, Polygon)]


def kissing_discs(polygon: Polygon) -> list[Polygon]:
    """The discs of a shape that is only discs which touch (twin wheels); else the shape."""
    if roundness(polygon) > 0.95 or polygon.area < 0.9 * Polygon(polygon.exterior).area:
        return [polygon]
    # Discs that just touch come apart once an eighth of the smaller side is taken off.
    sides = polygon.bounds[2] - polygon.bounds[0], polygon.bounds[3] - polygon.bounds[1]
    cores = lumps(areas_of(polygon.buffer(-min(sides) / 8)))
    if not 2 <= len(cores) <= 8 or min(roundness(core) for core in cores) < 0.95:
        return [polygon]
    spots = shapely.MultiPoint([core.centroid for core in cores])
    cells = shapely.get_parts(
        shapely.voronoi_polygons(spots, extend_to=polygon.envelope, ordered=True)
    )
    edges = shapely.union_all([polygon.boundary, *(cell.boundary for cell in cells)])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(edges)))
    inside = [face for face in faces if polygon.covers(face.point_on_surface())]
    discs = [
        areas_of(
            shapely.union_all([f for f in inside if cell.covers(f.point_on_surface())])
        )
        for cell in cells
    ]
    whole = [disc for disc in discs if isinstance(disc, Polygon) and not disc.is_empty]
    return whole if len(whole) == len(cells) else [polygon]
