"""The shot drawing by drawing: how far every piece goes from one drawing to the next."""

from __future__ import annotations

from dataclasses import dataclass
from math import gcd

import numpy as np
import shapely

from panelbeater.scores.arrays import Flags
from panelbeater.scores.tracks import Tracks
from panelbeater.terms.arrays import Floats, Ints, Points

_EXPOSURES = (4, 3, 2)
_SAME = 1e-9  # Share of W and of area: rounding of the file.
_GROUP = 1e-12  # Slack on the speed share, so that equal velocities stay equal.


@dataclass(frozen=True, slots=True, eq=False)
class Drawings:
    """Steps between drawings; step s leads from frame rows[s] to frame rows[s + 1]."""

    tracks: Tracks
    exposure: int
    """Frames each drawing is held: 1 on ones, 2 on twos."""
    rows: Ints
    """(n_steps + 1,), rows of the tracks that show a new drawing."""
    step: Points
    """(n_steps, n_pieces, 2), centroid displacement; 0 where not seen in both."""
    length: Floats
    """(n_steps, n_pieces)"""
    moving: Flags
    """(n_steps, n_pieces), visible in both and moved by more than 0.001 W."""
    riding: Points
    """(n_steps, n_pieces, 2), what the rigid motion of the piece's bone makes of it."""

    @property
    def n_steps(self) -> int:
        """Steps between drawings."""
        return len(self.rows) - 1

    def coherent(self, at: int, movers: Ints) -> Flags:
        """(n, n), movers whose velocities, or velocities against the bone they share, are
        within 0.25 of the largest speed (Franconeri et al. 2004; the share is ours).
        """
        velocity = self.step[at, movers]
        against = velocity - self.riding[at, movers]
        row = self.rows[at]
        bone = self.tracks.bone_of[row, movers]
        largest = float(self.length[at, movers].max(initial=0.0))
        near = (self.tracks.limits.bundle_spread + _GROUP) * largest
        same_bone = bone[:, None] == bone[None, :]
        together: Flags = _apart(velocity) <= near
        together |= same_bone & (_apart(against) <= near)
        return together

    def per_frame(self, values: Floats) -> tuple[float, ...]:
        """A value a step as a value a frame: the step that led to the drawing shown."""
        out = np.zeros(len(self.tracks.frames))
        for at in range(self.n_steps):
            out[self.rows[at + 1] :] = values[at]
        if self.n_steps:
            last = self.rows[-1] + self.exposure
            out[last:] = 0.0
        return tuple(float(value) for value in out)


def lay_drawings(tracks: Tracks) -> Drawings:
    """Steps of a shot; frames that repeat a drawing in a steady rhythm are left out."""
    exposure, rows = _rhythm(tracks)
    both = tracks.visible[rows[1:]] & tracks.visible[rows[:-1]]
    step = np.diff(tracks.centroid[rows], axis=0) * both[..., None]  # (S, P, 2)
    length = np.hypot(step[..., 0], step[..., 1])
    return Drawings(
        tracks=tracks,
        exposure=exposure,
        rows=rows,
        step=step,
        length=length,
        moving=length > tracks.limits.moving * tracks.width,
        riding=_riding(tracks, rows),
    )


def _apart(velocity: Points) -> Floats:
    difference = velocity[:, None] - velocity[None, :]  # (n, n, 2)
    return np.hypot(difference[..., 0], difference[..., 1])


def _rhythm(tracks: Tracks) -> tuple[int, Ints]:
    """Largest exposure up to fours that explains every change, and the rows it shows."""
    moved = np.hypot(*np.moveaxis(np.diff(tracks.centroid, axis=0), -1, 0))
    grown = np.abs(np.diff(tracks.area, axis=0)) > _SAME * tracks.area[1:]
    body = np.diff(np.nan_to_num(shapely.bounds(tracks.bones)), axis=0)  # (F - 1, B, 4)
    changed = (moved > _SAME * tracks.width).any(axis=1) | grown.any(axis=1)
    changed |= (np.abs(body) > _SAME * tracks.width).any(axis=(1, 2))
    changes = np.flatnonzero(changed) + 1
    every = np.arange(len(tracks.frames))
    if len(changes) < tracks.limits.rhythm_changes:
        return 1, every
    common = 0
    for gap in np.diff(changes):
        common = gcd(common, int(gap))
    for exposure in _EXPOSURES:
        if common % exposure == 0:
            shown = every[(every == 0) | (every % exposure == changes[0] % exposure)]
            return exposure, shown
    return 1, every


def _riding(tracks: Tracks, rows: Ints) -> Points:
    """(n_steps, n_pieces, 2), displacement of each centroid as if fixed to its bone."""
    out = np.zeros((len(rows) - 1, len(tracks.piece_ids), 2))
    for bone in range(len(tracks.bone_ids)):
        shapes = tracks.bones[rows, bone]
        sizes = shapely.get_num_coordinates(shapes)
        same = (sizes[1:] == sizes[:-1]) & (sizes[1:] > 0)
        for size in np.unique(sizes[1:][same]):
            at = np.flatnonzero(same & (sizes[1:] == size))  # steps
            start, end = (
                shapely.get_coordinates(shapes[k]).reshape(len(at), size, 2)
                for k in (at, at + 1)
            )
            riders = tracks.bone_of[rows[at]] == bone  # (n, n_pieces)
            carried = _carried(start, end, tracks.centroid[rows[at]])
            out[at] = np.where(riders[..., None], carried, out[at])
    return out


def _carried(start: Points, end: Points, points: Points) -> Points:
    """(n_steps, n, 2), displacement of points under the rigid motion that best takes start
    to end, (n_steps, n_corners, 2) each (2D case of Kabsch 1976 in closed form).
    """
    middle_start, middle_end = (p.mean(axis=1, keepdims=True) for p in (start, end))
    p, q = start - middle_start, end - middle_end
    dot = (p * q).sum(axis=(1, 2))
    cross = (p[..., 0] * q[..., 1] - p[..., 1] * q[..., 0]).sum(axis=1)
    angle = np.arctan2(cross, dot)
    cos, sin = np.cos(angle), np.sin(angle)
    turn_back = np.stack([np.stack([cos, sin], -1), np.stack([-sin, cos], -1)], -2)
    carried: Points = middle_end + (points - middle_start) @ turn_back
    return carried - points
