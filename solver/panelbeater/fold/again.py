"""The same fold on a body of another build: eased into place, not looked for anew."""

from __future__ import annotations

import numpy as np

from panelbeater.fold.energy import GROUP_OF_BONE, GROUPS, FoldOptions, sample_body, unpack
from panelbeater.fold.hiding import hide
from panelbeater.geometry.distance import distance_grid
from panelbeater.kinematics.chain import skeleton_of
from panelbeater.terms.arrays import Floats
from panelbeater.terms.drawing import Shape
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Fold, Pose


def settle_fold(
    silhouette: Shape, figure: Figure, before: Fold, options: FoldOptions | None = None
) -> Fold:
    """The fold of a figure of another build that is nearest to one that hid.

    Joints ease, and limbs are drawn smaller only where they stick out. Its `leak` says
    whether it hides: nothing else is tried. Takes a tenth of a second.
    """
    options = options or FoldOptions()
    body = sample_body(skeleton_of(figure), figure.height)
    start = _pack(body.skeleton.rest, before.pose, body.height)[None]
    settled, leaks = hide(body, distance_grid(silhouette), silhouette, start, options)
    pose = unpack(body, settled[0])
    lengths, widths = pose.scales.min(axis=0)
    return Fold(pose, float(leaks[0]), float(lengths), float(widths))


def _pack(rest: Pose, pose: Pose, height: float) -> Floats:
    """(2 + n_bones + 12,), what `unpack` makes the pose of."""
    first = [GROUP_OF_BONE.index(group) for group in range(len(GROUPS))]
    return np.concatenate(
        [pose.root / height, pose.turns - rest.turns, *pose.scales[first].T]
    )
