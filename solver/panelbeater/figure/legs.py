"""Find each leg: follow it from the hip to the floor, or halve the block two legs share."""

from __future__ import annotations

import numpy as np

from panelbeater.figure import canon
from panelbeater.figure.sheet import Sheet
from panelbeater.figure.trunk import Trunk, runs_of
from panelbeater.terms.arrays import Floats, Points

_KNEES = 0.7
"""Share of the height, from the top, below which no arm hangs on a leg."""


def find_leg(sheet: Sheet, trunk: Trunk, *, left: bool) -> Points:
    """Hip, knee, ankle and toes of one leg: (4, 2), body frame.

    The figure's own left lies at larger u. The right leg is found on the mirrored figure.
    """
    seen = sheet if left else Sheet(sheet.drawn[:, ::-1], sheet.joined[:, ::-1])
    track = _follow(seen, trunk)
    joints = _joints(seen, trunk, track)
    return joints if left else joints * (-1.0, 1.0)


def _follow(sheet: Sheet, trunk: Trunk) -> Floats:
    """(n, 3) v, inner and outer u of the leg, row by row from the hip down."""
    top = trunk.hip if trunk.crotch is None else trunk.crotch
    first = sheet.row(top + 0.015)
    rows: list[tuple[float, float, float]] = []
    last: tuple[int, int] | None = None
    most = _thickest(sheet)
    for i in range(first, sheet.joined.shape[0]):
        run = _leg_run(sheet, i, last)
        if run is None:
            break
        last, v = run, float(sheet.v(i))
        start = max(run[0], sheet.half)
        # Arms that hang on the hips are not part of the leg.
        stop = min(run[1], start + most) if v < _KNEES else run[1]
        rows.append((v, (start - sheet.half) * sheet.px, (stop - sheet.half) * sheet.px))
    if len(rows) < 4:
        wide = trunk.half_width
        rows = [(v, 0.0, wide) for v in np.linspace(trunk.hip, 1.0 - sheet.px, 20)]
    return np.array(rows)


def _leg_run(
    sheet: Sheet, row: int, last: tuple[int, int] | None
) -> tuple[int, int] | None:
    """The stretch of this row that belongs to the leg on the figure's left."""
    half = sheet.half
    runs = runs_of(sheet.joined[row])
    runs = runs[runs[:, 1] > half]
    if last is not None:
        runs = runs[(runs[:, 1] > last[0]) & (runs[:, 0] < last[1])]
    if len(runs) == 0:
        return None
    return int(runs[0, 0]), int(runs[0, 1])


def _thickest(sheet: Sheet) -> int:
    """Columns a thigh may measure: what is free of arms and hems below tells."""
    shins = sheet.joined[sheet.row(_KNEES) : sheet.row(0.93), sheet.half :].sum(axis=1)
    return int(np.ceil(1.3 * np.median(shins)))


def _joints(sheet: Sheet, trunk: Trunk, track: Floats) -> Points:
    v, inner, outer = track.T
    middle, thick = (inner + outer) / 2, outer - inner
    floor = float(v[-1]) + sheet.px / 2
    usual = floor - canon.FOOT_HEIGHT * trunk.body
    ankle_v = _ankle(sheet, v, thick, floor, usual)
    above = v <= ankle_v
    if above.sum() < 4:
        above = np.ones_like(v, dtype=np.bool_)
    hip_u = _hip(trunk, v, middle)
    share = canon.THIGH / (canon.THIGH + canon.SHANK)
    knee_v = trunk.hip + share * (ankle_v - trunk.hip)
    # A joint sits in the middle of the limb as seen a little above and below it.
    knee_u = _middle_at(v[above], middle[above], knee_v, hip_u, trunk.hip)
    ankle_u = _middle_at(v[above], middle[above], ankle_v, hip_u, trunk.hip)
    sole = v >= ankle_v + 0.4 * (floor - ankle_v)
    foot_u = float(middle[sole].mean()) if sole.any() else ankle_u
    toe_u = foot_u + 0.25 * (float(outer[sole].max(initial=foot_u)) - foot_u)
    toe_v = floor - 0.25 * (floor - ankle_v)
    return np.array(
        [[hip_u, trunk.hip], [knee_u, knee_v], [ankle_u, ankle_v], [toe_u, toe_v]]
    )


def _middle_at(v: Floats, middle: Floats, at: float, hip_u: float, hip_v: float) -> float:
    """Middle of the leg at height `at`, going straight from the hip to where it is free."""
    if at < v[0]:
        share = (at - hip_v) / max(float(v[0]) - hip_v, 1e-6)
        return hip_u + share * (float(middle[0]) - hip_u)
    near = np.abs(v - at) <= max(0.015, float(np.abs(v - at).min()) + 1e-9)
    return float(middle[near].mean())


def _ankle(sheet: Sheet, v: Floats, thick: Floats, floor: float, usual: float) -> float:
    """Where a shoe or a block foot juts out of the shank, else the canon's ankle."""
    span = max(2, round(0.02 / sheet.px))
    index = np.arange(span, len(v) - span)
    growth = thick[index + span] / np.maximum(thick[index - span], sheet.px)
    share = (floor - v[index]) / (floor - v[0] + 0.05)  # of the leg, from the floor
    # High above the floor only a block foot counts, not a trouser leg.
    growth[(share > 0.25) & (growth < 1.5) | (share > 0.7)] = 0.0
    if growth.max(initial=0.0) > 1.4:
        return float(v[index[int(np.argmax(growth))]])
    return min(usual, float(v[-1]))


def _hip(trunk: Trunk, v: Floats, middle: Floats) -> float:
    """Carry the free leg's middle line up to the hip, kept inside the pelvis."""
    near = v < v[0] + 0.12
    slope, start = np.polyfit(v[near] - v[0], middle[near], 1) if near.sum() > 3 else (0, 0)
    reach = float(start) + float(slope) * (trunk.hip - float(v[0]))
    here = float(middle[:3].mean())
    low, high = 0.45 * here, max(0.46 * here, min(here, 0.75 * trunk.half_width))
    return float(np.clip(reach if near.sum() > 3 else here, low, high))
