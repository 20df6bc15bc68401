"""Tell for every square of the figure which bone it hangs on."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import distance_transform_edt, label

from panelbeater.figure.sheet import Mask, Sheet
from panelbeater.figure.skeleton import Skeleton
from panelbeater.figure.trunk import Trunk
from panelbeater.figure.walk import inside_distance
from panelbeater.terms.arrays import Floats, Ints, Points
from panelbeater.terms.figure import BONE_IDS

LIMBS: tuple[tuple[str, ...], ...] = (
    ("waist", "torso", "head"),
    ("upper_arm_l", "forearm_l", "hand_l"),
    ("upper_arm_r", "forearm_r", "hand_r"),
    ("thigh_l", "shank_l", "foot_l"),
    ("thigh_r", "shank_r", "foot_r"),
)
_OTHER_SIDE = {"_l": "_r", "_r": "_l"}
_MIRRORED = np.array(
    [
        BONE_IDS.index(b[:-2] + _OTHER_SIDE[b[-2:]] if b[-2:] in _OTHER_SIDE else b)
        for b in BONE_IDS
    ]
)
_LEAST = 12
"""Squares every region gets, so that no bone is left without a region."""


def label_sheet(sheet: Sheet, bones: Skeleton, trunk: Trunk, *, even: bool) -> Ints:
    """(n_rows, n_columns) index into BONE_IDS of the bone each square hangs on.

    Squares outside the figure take the label of the nearest square inside. A limb is judged
    by distance over its half-width, walked inside the figure: air between arm and body is a
    wall. Within a limb the joint is the border. With `even`, right mirrors left.
    """
    rows, columns = np.indices(sheet.joined.shape)
    at = np.stack([sheet.u(columns), sheet.v(rows)], axis=-1)  # (n_rows, n_columns, 2)
    near = np.stack([segment_distance(at, bones[name]) for name in BONE_IDS])
    girth = _half_widths(sheet, bones, trunk)
    cost = np.stack([_limb_cost(sheet, bones, near, limb, girth) for limb in LIMBS])
    # Below the crotch there is nothing left of the trunk.
    bottom = trunk.hip + 0.06 * trunk.body
    if trunk.crotch is not None and trunk.crotch < bottom + 0.06:
        bottom = trunk.crotch
    cost[0, sheet.row(bottom) :] = np.inf
    limb_of = np.argmin(cost, axis=0)
    labels = np.zeros(sheet.joined.shape, dtype=np.int64)
    for k, limb in enumerate(LIMBS):
        index = np.array([BONE_IDS.index(name) for name in limb])
        own = index[np.argmin(near[index], axis=0)]
        labels[limb_of == k] = own[limb_of == k]
    labels = _whole(sheet, labels, near)
    if even:
        mirrored = _MIRRORED[labels[:, ::-1]]
        labels[:, : sheet.half] = mirrored[:, : sheet.half]
    return spread(labels, sheet.joined)


def spread(labels: Ints, known: Mask) -> Ints:
    """Give squares outside `known` the label of the nearest square in it."""
    index = distance_transform_edt(~known, return_distances=False, return_indices=True)
    return np.asarray(labels[tuple(index)], dtype=np.int64)


def segment_distance(at: Points, ends: Points) -> Floats:
    """(...,) distance of points (..., 2) to the bone between two ends (2, 2)."""
    along = ends[1] - ends[0]
    length2 = max(float(along @ along), 1e-12)
    share = np.clip(((at - ends[0]) @ along) / length2, 0.0, 1.0)
    return np.asarray(np.linalg.norm(at - ends[0] - share[..., None] * along, axis=-1))


def _half_widths(sheet: Sheet, bones: Skeleton, trunk: Trunk) -> dict[str, float]:
    """Half-width of each bone's limb: how deep its bones run inside the figure."""
    depth = distance_transform_edt(sheet.joined) * sheet.px
    girth = {"waist": trunk.half_width, "torso": trunk.half_width}
    girth["head"] = max(trunk.head_half_width, 0.02)
    for limb in LIMBS[1:]:
        found = []
        for name in limb[:2]:
            for share in np.linspace(0.2, 0.9, 8):
                u, v = bones[name][0] + share * (bones[name][1] - bones[name][0])
                found.append(depth[sheet.row(float(v)), sheet.column(float(u))])
        for name in limb:
            girth[name] = float(np.clip(np.median(found), 0.012, 0.12))
    return girth


def _limb_cost(
    sheet: Sheet,
    bones: Skeleton,
    near: Floats,
    limb: tuple[str, ...],
    girth: dict[str, float],
) -> Floats:
    """(n_rows, n_columns) distance to the limb over its half-width, dearer across air."""
    index = [BONE_IDS.index(name) for name in limb]
    reach = near[index].min(axis=0)
    seeds = [
        (sheet.row(float(v)), sheet.column(float(u)))
        for name in limb
        for u, v in np.linspace(bones[name][0], bones[name][1], 40)
    ]
    starts = np.array(sorted({s for s in seeds if sheet.joined[s]}))
    detour = np.zeros_like(reach)
    if len(starts):
        walked = inside_distance(sheet.joined, starts) * sheet.px
        # Walking in eight directions makes a straight way up to 9 % longer.
        detour = np.maximum(0.0, walked - 1.1 * reach - 3 * sheet.px)
        detour[~np.isfinite(detour)] = 0.0
    over = np.stack([near[i] / girth[name] for i, name in zip(index, limb, strict=True)])
    return np.asarray(over.min(axis=0) + 3.0 * detour / girth[limb[0]])


def _whole(sheet: Sheet, labels: Ints, near: Floats) -> Ints:
    """One connected patch a bone: stray ones go to their surroundings, none stays empty."""
    inside = sheet.joined
    out = np.where(inside, labels, -1)
    for k in range(len(BONE_IDS)):
        patches, n_patches = label(out == k)
        if n_patches > 1:
            sizes = np.bincount(patches.ravel())[1:]
            out[(patches > 0) & (patches != int(np.argmax(sizes)) + 1)] = -1
    out = spread(out, out >= 0)
    for k in range(len(BONE_IDS)):
        if np.count_nonzero((out == k) & inside) < _LEAST:
            order = np.argsort(np.where(inside, near[k], np.inf), axis=None, kind="stable")
            out.ravel()[order[: 2 * _LEAST]] = k
    return np.asarray(out)
