"""Which pieces stay where they are drawn when only some limbs open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from panelbeater.geometry.frames import moved
from panelbeater.geometry.overlay import shared_areas
from panelbeater.kinematics.chain import Skeleton, bodies_on_stage, stage_from_bones
from panelbeater.paths.options import PathOptions
from panelbeater.paths.support import floating_groups
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.drawing import Drawing, Piece
from panelbeater.terms.figure import BONE_IDS, BONE_TREE
from panelbeater.terms.pose import Fold


def keep_shut(
    drawing: Drawing,
    skeleton: Skeleton,
    fold: Fold,
    assignment: Assignment,
    only: Sequence[str],
    *,
    height: float,
    options: PathOptions | None = None,
) -> Assignment:
    """The assignment with every piece of a shut limb riding, unmoved, a bone that is shut.

    A piece that others hang on stays too: nothing may be left in the air.
    """
    options = options or PathOptions()
    bodies = bodies_on_stage(skeleton, fold.pose)
    shut = [i for i, (_, _, limb) in enumerate(BONE_TREE) if limb not in only]
    outlines = [piece.outline for piece in drawing.pieces]
    opens = [BONE_TREE[BONE_IDS.index(c.region)][2] in only for c in assignment.covers]
    while any(opens):
        stays = [i for i, out in enumerate(opens) if not out]
        groups = floating_groups(
            [outlines[i] for i in stays], [bodies[i] for i in shut], height, options
        )
        if not groups:
            break
        # Whatever of the leaving pieces is nearest carries the group: it stays as well.
        loose = shapely.union_all([outlines[stays[k]] for k in groups[0]])
        far = [shapely.distance(loose, outlines[i]) if out else np.inf
               for i, out in enumerate(opens)]  # fmt: skip
        opens[int(np.argmin(far))] = False
    covers = tuple(
        cover if out else _stay(cover, piece, skeleton, fold, shut, bodies)
        for cover, piece, out in zip(assignment.covers, drawing.pieces, opens, strict=True)
    )
    return replace(assignment, covers=covers)


def _stay(
    cover: Cover,
    piece: Piece,
    skeleton: Skeleton,
    fold: Fold,
    shut: Sequence[int],
    bodies: Sequence[shapely.Geometry],
) -> Cover:
    """A cover that leaves the piece as drawn, on the shut bone it hides most of."""
    hides = shared_areas(piece.outline, np.array([bodies[i] for i in shut], dtype=object))
    gaps = shapely.distance(piece.outline, [bodies[i] for i in shut])
    bone = shut[int(hides.argmax() if hides.max() > 0 else gaps.argmin())]
    folded = stage_from_bones(skeleton, fold.pose)[bone]
    standing = stage_from_bones(skeleton, skeleton.rest)[bone]
    centre = piece.outline.centroid
    drawn = moved(centre.x, centre.y)
    return Cover(
        cover.piece, BONE_IDS[bone], standing @ np.linalg.inv(folded) @ drawn,
        1.0, 1.0, 0.0, "stays on the vehicle: its limb does not open",
    )  # fmt: skip
