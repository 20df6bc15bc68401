"""Find the axis parts of a figure: crown, neck, shoulders, hips and the trunk's width."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from panelbeater.figure import canon
from panelbeater.figure.sheet import Mask, Sheet
from panelbeater.terms.arrays import Floats, Ints

_SHORT = 0.42
"""Legs shorter than this share of usual ones come out of a coat, not out of the hips."""

_BOX = 1.5
"""A trunk this many times as wide as its legs stand apart is a box with legs under it."""


@dataclass(frozen=True, slots=True)
class Trunk:
    """Landmarks on the axis, body frame: v from the top, 1 at the floor."""

    crown: float
    neck: float
    shoulder: float
    """Where the shoulders begin below the neck."""
    hip: float
    crotch: float | None
    """None when the legs are drawn as one block."""
    half_width: float
    """Of the trunk without arms that stand clear of it."""
    head_half_width: float

    @property
    def stature(self) -> float:
        """Crown to floor."""
        return 1.0 - self.crown

    @property
    def body(self) -> float:
        """Neck to floor, as if the head were of canon size: scales limbs of any figure."""
        return (1.0 - self.neck) / canon.NECK_HEIGHT


def runs_of(row: Mask) -> Ints:
    """(n_runs, 2) first and past-the-last columns of the filled stretches of a row."""
    edges = np.diff(np.concatenate([[0], row.astype(np.int8), [0]]))
    return np.stack([np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)], axis=1)


def central_runs(mask: Mask, half: int, *, reach: int) -> Ints:
    """(n_rows, 2) the run over the axis in each row, (-1, -1) where none is in reach."""
    out = np.full((mask.shape[0], 2), -1, dtype=np.int64)
    for i, row in enumerate(mask):
        runs = runs_of(row)
        if len(runs) == 0:
            continue
        away = np.maximum(runs[:, 0] - half, half - runs[:, 1])
        best = int(np.argmin(away))
        if away[best] <= reach:
            out[i] = runs[best]
    return out


def find_trunk(sheet: Sheet) -> Trunk:
    """Read the axis landmarks off the ruled figure; where none shows, take the canon."""
    runs = central_runs(sheet.joined, sheet.half, reach=6)
    widths: Floats = np.diff(runs, axis=1)[:, 0] * sheet.px  # (n_rows,)
    crown = float(sheet.v(int(np.argmax(widths > 0)))) - sheet.px / 2
    neck = _neck(sheet, widths, crown)
    shoulder = _shoulder(sheet, widths, neck)
    unit = (1.0 - neck) / canon.NECK_HEIGHT
    rows = slice(sheet.row(shoulder + 0.04 * unit), sheet.row(shoulder + 0.34 * unit) + 1)
    wide = widths[rows][widths[rows] > 0]
    half_width = float(np.percentile(wide, 25)) / 2 if wide.size else 0.1
    crotch = _crotch(sheet, neck, unit, half_width)
    hip = neck + canon.HIP_SHARE * (1.0 - neck)
    if crotch is not None:
        hip = _hip_from_crotch(sheet, crotch, hip, widths)
    head = widths[sheet.row(crown) : sheet.row(neck)]
    return Trunk(
        crown,
        neck,
        shoulder,
        hip,
        crotch,
        half_width,
        _head_half_width(head),
    )


def _head_half_width(widths: Floats) -> float:
    """Half the head's width; rows where raised arms run into it do not count."""
    seen = widths[widths > 0]
    return float(min(seen.max(), 1.3 * np.median(seen))) / 2 if seen.size else 0.05


def _neck(sheet: Sheet, widths: Floats, crown: float) -> float:
    """A gap under the head, else the narrowest row, the widest step or the canon."""
    stature = 1.0 - crown
    rows = np.arange(sheet.row(crown + 0.06 * stature), sheet.row(crown + 0.42 * stature))
    reach = round(0.05 / sheet.px)
    on_axis = sheet.drawn[rows, sheet.half - reach : sheet.half + reach]
    gap = rows[~np.any(on_axis, axis=1)]
    if gap.size:
        first = gap[: int(np.argmax(np.append(np.diff(gap) > 1, True))) + 1]
        return float(sheet.v(float(first.mean())))
    span = round(0.15 * stature / sheet.px)
    above = np.maximum.accumulate(widths)[rows]
    below = np.array([widths[i : i + span].max() for i in rows])
    # A belt is a narrow place as well: prefer narrow places near where necks are.
    place = np.exp(-(((sheet.v(rows) - crown) / stature - 0.17) ** 2) / 0.08)
    score = np.minimum(above, below) / np.maximum(widths[rows], sheet.px) * place
    best = int(np.argmax(score))
    if score[best] / place[best] > 1.1:
        narrow = widths[rows] <= widths[rows[best]] + sheet.px
        low = best - int(np.argmin(np.append(narrow[best::-1], False))) + 1
        high = best + int(np.argmin(np.append(narrow[best:], False))) - 1
        return float(sheet.v(float(rows[low] + rows[high]) / 2))
    step = max(1, round(0.03 / sheet.px))
    growth = widths[rows + step] / np.maximum(widths[rows], sheet.px)
    if growth.max() > 1.25:
        return float(sheet.v(int(rows[int(np.argmax(growth))])))
    return crown + (1.0 - canon.NECK_HEIGHT) * stature


def _shoulder(sheet: Sheet, widths: Floats, neck: float) -> float:
    top = sheet.row(neck)
    below = widths[top : sheet.row(neck + 0.12) + 1]
    return float(sheet.v(top + int(np.argmax(below >= 0.8 * below.max()))))


def _crotch(sheet: Sheet, neck: float, unit: float, half_width: float) -> float | None:
    """Top of the longest stretch of air between two legs, about the axis."""
    reach = max(1, round(min(0.03, 0.4 * half_width) / sheet.px))
    rows = np.arange(sheet.row(neck + 0.25 * unit), sheet.row(1.0) + 1)
    band = slice(sheet.half - reach, sheet.half + reach)
    air = np.zeros(len(rows), dtype=np.bool_)
    for k, i in enumerate(rows):
        row = sheet.joined[i]
        open_here = ~row[band]
        sides = row[: sheet.half + reach].any() and row[sheet.half - reach :].any()
        air[k] = bool(open_here.any() and sides and len(runs_of(row)) > 1)
    stretches = runs_of(air)
    if len(stretches) == 0:
        return None
    longest = stretches[int(np.argmax(stretches[:, 1] - stretches[:, 0]))]
    if (longest[1] - longest[0]) * sheet.px < 0.06:
        return None
    return float(sheet.v(int(rows[longest[0]]))) - sheet.px / 2


def _hip_from_crotch(sheet: Sheet, crotch: float, usual: float, widths: Floats) -> float:
    """Hips sit half a thigh above the crotch, or, under a skirt, where hips usually are."""
    row = sheet.row(crotch + 0.03)
    runs = runs_of(sheet.joined[row])
    near = runs[np.argsort(np.abs(runs.mean(axis=1) - sheet.half), kind="stable")[:2]]
    if len(near) == 0:
        return usual
    thick = float(np.diff(near, axis=1).mean()) * sheet.px
    hidden = _has_skirt(sheet, crotch, usual, widths) or 1.0 - crotch < _SHORT * (1 - usual)
    if crotch > usual + 0.08 and hidden:
        return usual
    spread = float(near.max() - near.min()) * sheet.px
    if widths[sheet.row(crotch - 0.02)] > _BOX * spread:
        return crotch - 0.01
    return crotch - min(0.5 * thick, 0.07)


def _has_skirt(sheet: Sheet, crotch: float, usual: float, widths: Floats) -> bool:
    """True when the trunk widens from a waist to a hem above the legs."""
    waist = widths[sheet.row(usual - 0.18) : sheet.row(usual + 0.03)]
    waist = waist[waist > 0]
    hem = widths[sheet.row(crotch - 0.05) : sheet.row(crotch)].max(initial=0.0)
    return bool(waist.size and hem > 1.25 * waist.min())
