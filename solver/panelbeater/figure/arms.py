"""Find each arm: a branch of the figure if it stands clear, else a strip of the trunk."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import distance_transform_edt, label

from panelbeater.figure import canon
from panelbeater.figure.sheet import Mask, Sheet
from panelbeater.figure.trunk import Trunk
from panelbeater.figure.walk import (
    arc_lengths,
    bend_share,
    inside_distance,
    middle_path,
    point_at,
)
from panelbeater.terms.arrays import Floats, Ints, Points

_ELBOW = canon.UPPER_ARM / canon.ARM
_TINES = 4
"""Slices of a fortieth of the arm through which a claw stays forked."""
_WRIST = (canon.UPPER_ARM + canon.FOREARM) / canon.ARM


def find_arm(sheet: Sheet, trunk: Trunk, *, left: bool) -> Points:
    """Shoulder, elbow, wrist and fingertips of one arm: (4, 2), body frame.

    The figure's own left lies at larger u. The right arm is found on the mirrored figure.
    """
    seen = sheet if left else Sheet(sheet.drawn[:, ::-1], sheet.joined[:, ::-1])
    branch = _clear_branch(seen, trunk)
    joints = _strip(seen, trunk) if branch is None else _joints(seen, trunk, *branch)
    return joints if left else joints * (-1.0, 1.0)


def _clear_branch(sheet: Sheet, trunk: Trunk) -> tuple[Mask, Ints, Ints] | None:
    """The arm's own squares, those where it leaves the trunk and its tip, if clear."""
    mask = _without_trunk(_opened(sheet, trunk), sheet, trunk)
    edge = min(sheet.column(trunk.half_width) + 1, sheet.joined.shape[1] - 1)
    parts, n_parts = label(mask)
    best: tuple[Mask, Ints, Ints] | None = None
    longest = 0.15 * trunk.body
    for k in range(1, n_parts + 1):
        part = parts == k
        rows = np.flatnonzero(part[:, edge])
        rows = rows[rows >= sheet.row(trunk.neck - 0.08)]
        if rows.size == 0 or float(sheet.v(int(rows[0]))) > trunk.hip - 0.06:
            continue
        rows = rows[rows < rows[0] + 0.12 * trunk.body / sheet.px]
        root = np.stack([rows, np.full_like(rows, edge)], axis=1)
        away = inside_distance(part, root)
        away[~np.isfinite(away)] = -1.0
        if away.max() * sheet.px > longest:
            longest = float(away.max()) * sheet.px
            tip = np.argwhere(away >= 0.94 * away.max())
            best = (part, root, tip)
    return best


def _without_trunk(mask: Mask, sheet: Sheet, trunk: Trunk) -> Mask:
    """What is left beside trunk and head on the figure's left."""
    side = mask.copy()
    side[:, : sheet.column(trunk.half_width) + 1] = False
    head_edge = sheet.column(trunk.head_half_width + 0.01) + 1
    side[: sheet.row(trunk.neck), :head_edge] = False
    return side


def _opened(sheet: Sheet, trunk: Trunk) -> Mask:
    """Cut the ring that an arm makes when its hand rests on the hip."""
    mask = sheet.joined.copy()
    air, n_air = label(~mask)
    outside = air == air[0, 0]
    for k in range(1, n_air + 1):
        hole = np.argwhere(air == k)
        v_mid = float(sheet.v(float(hole[:, 0].mean())))
        beside = hole[:, 1].min() > sheet.half and hole[0, 0] > 0
        if air[0, 0] == k or not beside or len(hole) < 12:
            continue
        if not trunk.neck < v_mid < trunk.hip + 0.25 * trunk.body:
            continue
        _cut(mask, hole, outside, sheet)
    return mask


def _cut(mask: Mask, hole: Ints, outside: Mask, sheet: Sheet) -> None:
    """Open a hole downwards, where the hand meets the hip, by the shortest cut."""
    height = np.ptp(hole[:, 0]) + 1
    low = hole[hole[:, 0] >= hole[:, 0].max() - 0.3 * height]
    free = np.argwhere(outside)
    free = free[(free[:, 0] > low[:, 0].min()) & (free[:, 1] > sheet.half)]
    free = free[np.abs(free - low.mean(axis=0)).max(axis=1) < 0.25 / sheet.px]
    if len(free) == 0:
        return
    # The forearm is thin all along: cut it at the hand, next to the body.
    gaps = np.hypot(
        free[None, :, 0] - low[:, None, 0], free[None, :, 1] - low[:, None, 1]
    ) + np.maximum(0, free[None, :, 1] - low[:, 1].min())
    a, b = np.unravel_index(int(np.argmin(gaps)), gaps.shape)
    n = int(np.abs(free[b] - low[a]).max()) * 2 + 1
    line = np.rint(np.linspace(low[a], free[b], n)).astype(int)
    for down, across in ((0, 0), (0, 1), (1, 0), (1, 1)):
        mask[line[:, 0] + down, line[:, 1] + across] = False


def _joints(sheet: Sheet, trunk: Trunk, part: Mask, root: Ints, tip: Ints) -> Points:
    """Walk from the chest along the arm and divide it by the canon and by its bends."""
    edge = root[0, 1]
    allowed = part.copy()
    rows = slice(root[:, 0].min(), root[:, 0].max() + 1)
    allowed[rows, sheet.half : edge] = sheet.joined[rows, sheet.half : edge]
    chest = np.array([int(np.median(root[:, 0])), (sheet.half + edge) // 2])
    end = tip[int(np.argmax(np.abs(tip - chest).sum(axis=1)))]
    ways, _ = label(allowed, structure=np.ones((3, 3)))
    if ways[tuple(chest)] == 0 or ways[tuple(chest)] != ways[tuple(end)]:
        chest = root[len(root) // 2]
    path = middle_path(sheet, allowed, chest, end)
    out = np.flatnonzero(path[:, 0] >= 0.95 * trunk.half_width)
    path = path[int(out[0]) :] if out.size and out[0] < len(path) - 4 else path
    path = np.concatenate(
        [[_shoulder(sheet, trunk, part, root, path)], path[_near_arm(path) :]]
    )
    wrist = _wrist_share(sheet, part, root, path)
    share = bend_share(path, wrist * _ELBOW / _WRIST, play=0.1)
    joints = [path[0], point_at(path, share), point_at(path, wrist)]
    return np.array([*joints, _hand_end(sheet, part, root, joints[2])])


def _wrist_share(sheet: Sheet, part: Mask, root: Ints, path: Points) -> float:
    """Share of the arm where it forks into a claw, else the canon's wrist."""
    away = inside_distance(part, root)
    away[~np.isfinite(away)] = -1.0
    total = float(away.max())
    slices = np.linspace(0.4, 0.85, 19) * total
    forks = [_n_tines((away >= a) & (away < a + 0.05 * total)) > 1 for a in slices]
    # A bent elbow splits a slice or two; the tines of a claw go on.
    claw = np.convolve(forks, np.ones(_TINES), mode="valid") >= _TINES
    if not claw.any():
        return _WRIST
    length = float(arc_lengths(path)[-1])
    beyond = total * sheet.px - slices[int(np.argmax(claw))] * sheet.px
    return float(np.clip(1.0 - 1.1 * beyond / length, 0.4, _WRIST))


def _n_tines(band: Mask) -> int:
    """Patches of a slice across the arm, crumbs left out."""
    patches, _ = label(band, structure=np.ones((3, 3)))
    return int(np.count_nonzero(np.bincount(patches.ravel())[1:] >= 8))


def _hand_end(sheet: Sheet, part: Mask, root: Ints, wrist: Points) -> Points:
    """Through the middle of what lies beyond the wrist: a claw has two tips, a hand one."""
    away = inside_distance(part, root)
    at = away[sheet.row(float(wrist[1])), sheet.column(float(wrist[0]))]
    beyond = np.argwhere(np.isfinite(away) & (away >= (at if np.isfinite(at) else 0.0)))
    if len(beyond) == 0:
        beyond = np.argwhere(away == away[np.isfinite(away)].max())
    middle = np.array([sheet.u(beyond[:, 1]).mean(), sheet.v(beyond[:, 0]).mean()])
    return np.asarray(wrist + 1.85 * (middle - wrist))


def _near_arm(path: Points) -> int:
    """First point past the shoulder cap, where the walk runs along the arm."""
    arc = arc_lengths(path)
    return int(np.searchsorted(arc, 0.2 * arc[-1]))


def _shoulder(sheet: Sheet, trunk: Trunk, part: Mask, root: Ints, path: Points) -> Points:
    """Where the walk leaves the trunk; a hanging arm is carried up to its shoulder cap."""
    arc = arc_lengths(path)
    along = path[(arc >= 0.2 * arc[-1]) & (arc <= 0.4 * arc[-1])]
    rise = along[-1] - along[0]
    if len(along) < 3 or rise[1] < 0.5 * float(np.hypot(*rise)):
        return np.array(path[0])
    depth = distance_transform_edt(part) * sheet.px
    spots = [(sheet.row(float(v)), sheet.column(float(u))) for u, v in along]
    radius = float(np.median([depth[spot] for spot in spots]))
    top = max(trunk.shoulder, float(sheet.v(int(root[0, 0]))))
    v = min(top + radius, float(along[0, 1]))
    u = along[0, 0] + rise[0] / rise[1] * (v - along[0, 1])
    outer = _outer_edge(sheet)[sheet.row(v)] - 0.8 * radius
    return np.array([np.clip(u, min(path[0, 0], outer), outer), v])


def _outer_edge(sheet: Sheet) -> Floats:
    """(n_rows,) outermost u of the figure's left side; 0 in empty rows."""
    filled = sheet.joined[:, sheet.half :]
    last = filled.shape[1] - np.argmax(filled[:, ::-1], axis=1)
    return np.where(filled.any(axis=1), last * sheet.px, 0.0)


def _strip(sheet: Sheet, trunk: Trunk) -> Points:
    """The outer strip of the trunk, ending where the outline steps in at the hands."""
    outer = _outer_edge(sheet)
    top, unit = trunk.shoulder, trunk.body
    tip_v = top + (canon.ARM + 0.02) * unit
    rows = np.arange(sheet.row(tip_v - 0.2 * unit), sheet.row(tip_v + 0.1 * unit))
    drop = outer[rows - 2] - outer[np.minimum(rows + 2, len(outer) - 1)]
    step = int(np.argmax(drop))
    first = sheet.row(top + 0.05)
    chest = float(np.median(outer[first : max(sheet.row(trunk.hip), first + 3)]))
    thick = 0.32 * chest
    if drop[step] > 0.15 * chest:
        tip_v = float(sheet.v(int(rows[step])))
        thick = float(np.clip(drop[step], 0.2 * chest, 0.5 * chest))
    vs = [top + 0.5 * thick, tip_v - 0.01]
    arm = vs[1] - vs[0]
    stops = np.array([vs[0], vs[0] + _ELBOW * arm, vs[0] + _WRIST * arm, vs[1]])
    us = [outer[sheet.row(float(v))] - thick / 2 for v in stops]
    # Hands of a merged arm hang under the elbow rather than follow a wide hem.
    us[2:] = [min(u, us[1] + 0.02) for u in us[2:]]
    return np.stack([np.array(us), stops], axis=1)
