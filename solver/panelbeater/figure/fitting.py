"""From a silhouette, and whatever bones and regions are drawn, to the finished figure."""

from __future__ import annotations

from collections.abc import Mapping

from panelbeater.figure.bodies import shape_bodies
from panelbeater.figure.labels import label_sheet
from panelbeater.figure.regions import cut_regions
from panelbeater.figure.sheet import BodyFrame, find_frame, rule_sheet
from panelbeater.figure.skeleton import EVEN, Skeleton, fit_skeleton, with_given, with_named
from panelbeater.terms.arrays import Points
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import BONE_TREE, Bone, Figure


def fit_figure(
    silhouette: Shape,
    *,
    bones: Mapping[str, Points] | None = None,
    named: Mapping[str, Shape] | None = None,
    source: str = "",
    warnings: tuple[str, ...] = (),
) -> Figure:
    """Fit skeleton, regions and bodies to an upright figure that faces us.

    Parameters
    ----------
    silhouette : valid polygons, drawing units, y down.
    bones : drawn bones, bone id to (2, 2) end points, drawing units; used as they are.
    named : drawn regions, bone id to the visible part of the silhouette.
    """
    frame = find_frame(silhouette)
    body = frame.inward(silhouette)
    sheet = rule_sheet(body)
    given = {name: frame.point_inward(ends) for name, ends in (bones or {}).items()}
    drawn = {name: frame.inward(shape) for name, shape in (named or {}).items()}
    fitted, trunk = fit_skeleton(sheet, symmetry=frame.symmetry)
    skeleton = with_given(with_named(fitted, drawn), given)
    even = frame.symmetry > EVEN and not given and not drawn
    labels = label_sheet(sheet, skeleton, trunk, even=even)
    regions = cut_regions(body, sheet, labels, drawn, even=even)
    bodies = shape_bodies(regions, skeleton)
    return Figure(silhouette, _bones(frame, skeleton, regions, bodies), source, warnings)


def _bones(
    frame: BodyFrame,
    skeleton: Skeleton,
    regions: Mapping[str, Shape],
    bodies: Mapping[str, Shape],
) -> tuple[Bone, ...]:
    """Carry everything back to drawing units, in the order of BONE_TREE."""
    out = []
    for name, parent, controller in BONE_TREE:
        start, end = _frozen(frame.point_outward(skeleton[name]))
        region = frame.outward(regions[name])
        out.append(
            Bone(
                name,
                controller,
                parent,
                start,
                end,
                region,
                frame.outward(bodies[name]),
            )
        )
    return tuple(out)


def _frozen(ends: Points) -> tuple[Points, Points]:
    start, end = ends[0].copy(), ends[1].copy()
    start.setflags(write=False)
    end.setflags(write=False)
    return start, end
