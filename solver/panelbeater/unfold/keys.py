"""Key poses: moments between fold and stand that the body passes through exactly."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from panelbeater.errors import DrawingError
from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.terms.arrays import Floats
from panelbeater.terms.pose import KeyPose
from panelbeater.terms.timing import ShotOptions


@dataclass(frozen=True, slots=True, eq=False)
class Knots:
    """Values to pass through at rising frames."""

    frames: Floats
    """(n_knots,)"""
    values: Floats
    """(n_knots, n_values)"""


def planned_poses(poses: Sequence[KeyPose], shot: ShotOptions) -> tuple[KeyPose, ...]:
    """Poses whose frames count as the shot plays, in the order they are planned in.

    Raises DrawingError as check_poses does, and where only some limbs open.
    """
    if shot.only and poses:
        raise DrawingError("poses: no key pose fits a shot in which only some limbs open")
    return check_poses(
        [replace(pose, frame=shot.from_vehicle(pose.frame)) for pose in poses], shot
    )


def check_poses(poses: Sequence[KeyPose], shot: ShotOptions) -> tuple[KeyPose, ...]:
    """The poses in the order of their frames, which count from the vehicle.

    Raises DrawingError for a frame in one of the holds, or two poses at one frame.
    """
    low, high = shot.moving.start + 1, shot.moving.stop - 1
    ordered = tuple(sorted(poses, key=lambda pose: pose.frame))
    problems = [
        f"pose {pose.name!r}: frame {shot.from_vehicle(pose.frame) + 1} lies outside the "
        "moving part of the shot; key poses go at frames "
        "{} to {}".format(*sorted(shot.from_vehicle(k) + 1 for k in (low, high)))
        for pose in ordered
        if not low <= pose.frame <= high
    ]
    problems += [
        f"poses {one.name!r} and {other.name!r} both ask for frame "
        f"{shot.from_vehicle(one.frame) + 1}; drop one"
        for one, other in itertools.pairwise(ordered)
        if one.frame == other.frame
    ]
    if problems:
        raise DrawingError("\n".join(problems))
    return ordered


def passing(knots: Knots, n_frames: int) -> Floats:
    """(n_frames, n_values): eased from knot to knot, exact at each, still before and after.

    Between two knots it is a minimum-jerk move (quintic, no acceleration at the knots). A
    value that keeps its direction goes through a knot with the harmonic mean of both mean
    speeds, as Fritsch & Butland (1984) choose slopes, so that it does not stop there and
    never overshoots; one that turns round stops.
    """
    at, values = knots.frames, knots.values
    gaps = np.diff(at)[:, None]  # (n_knots - 1, 1)
    means = np.diff(values, axis=0) / gaps
    slopes = np.zeros_like(values)
    before, after = means[:-1], means[1:]
    goes_on = before * after > 0
    total = np.where(goes_on, before + after, 1.0)
    slopes[1:-1] = np.where(goes_on, 2 * before * after / total, 0.0)
    frames = np.arange(n_frames, dtype=np.float64)
    k = np.clip(np.searchsorted(at, frames, side="right") - 1, 0, len(at) - 2)
    s = np.clip((frames - at[k]) / gaps[k, 0], 0.0, 1.0)[:, None]  # (n_frames, 1)
    leave = s - s**3 * (6 - s * (8 - 3 * s))
    arrive = -(s**3) * (4 - s * (7 - 3 * s))
    out: Floats = (
        values[k]
        + (values[k + 1] - values[k]) * minimum_jerk(s)
        + gaps[k] * (slopes[k] * leave + slopes[k + 1] * arrive)
    )
    return out


def detour(
    frames: Sequence[int], changes: Floats, *, reach: float, first: int, last: int
) -> Knots:
    """Leave for `changes` (n, n_values) at `frames` and come back, `reach` frames each way.

    Two that lie nearer than twice the reach are joined directly.
    """
    still = np.zeros((1, changes.shape[1]))
    at: list[float] = []
    values: list[Floats] = []
    for frame, change in zip(frames, changes, strict=True):
        out = max(float(first), frame - reach)
        if not at or out > at[-1] + reach:
            if at:
                at.append(at[-1] + reach)
                values.append(still)
            if not at or out > at[-1]:
                at.append(out)
                values.append(still)
        at.append(float(frame))
        values.append(change[None])
    at.append(min(float(last), at[-1] + reach))
    values.append(still)
    return Knots(np.array(at), np.concatenate(values))
