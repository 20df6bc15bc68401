"""Between two moments: what stands where, and how far anything can have gone meanwhile."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from panelbeater.geometry.stage import bone_outlines, drawn_centroids, piece_outlines
from panelbeater.kinematics.chain import PARENTS, skeleton_of
from panelbeater.kinematics.ease import minimum_jerk
from panelbeater.rig.sample import bent_at, pose_at, sample_rig
from panelbeater.terms.arrays import Flags, Floats, Ints
from panelbeater.terms.drawing import Piece, Shape
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.rig import Rig, Track

STAGE = len(BONE_IDS)
"""View of `RigMotion.travel` that is the stage; those before it are the bones."""


@dataclass(frozen=True, slots=True, eq=False)
class RigMotion:
    """The rig at any moment within a frame, pieces first and bones after them."""

    rig: Rig

    def shapes(self, times: Floats, frames: Ints) -> list[list[Shape]]:
        """Outlines at (n_times,) moments, each as drawn in the whole frame it belongs to:
        a swap at the end of a frame is not seen in it. Pieces, then bones; stage frame.
        """
        sample = sample_rig(self.rig, times)
        looks = sample_rig(self.rig, frames.astype(np.float64))
        sample = replace(sample, redrawn=looks.redrawn)
        rows = [sample.at(slice(row, row + 1)) for row in range(len(times))]
        return [
            piece_outlines(self.rig, row, 0) + bone_outlines(self.rig, row, 0)
            for row in rows
        ]

    def visible(self) -> Flags:
        """(n_frames, n_pieces), from each whole frame until the next."""
        frames = np.arange(self.rig.shot.n_frames, dtype=np.float64)
        return sample_rig(self.rig, frames).visible

    def depth(self) -> Ints:
        """(n_frames, n_pieces), from each whole frame until the next."""
        return self.rig.depth

    def travel(self, start: Floats, stop: Floats) -> Floats:
        """Longest way of any point of each shape, from each of (n_spans,) moments to the
        other within the same frame; (n_spans, n_shapes, n_bones + 1), drawing units.

        As seen from each bone that carries the shape, and last from the stage; infinite
        from other bones. What two shapes move against each other is at most the sum of
        their ways as seen from any one bone. Angles, joints and channels run straight
        between keys, so their way is the sum of their steps and these are bounds, not
        samples.
        """
        skeleton, tracks = skeleton_of(self.rig.figure), self.rig.tracks
        drawn = zip(self.rig.drawing.pieces, tracks, strict=True)
        radii = [_radius(piece, track) for piece, track in drawn]
        own = [
            _on_bone(track, radius, start, stop, reverse=self.rig.shot.reverse)
            for track, radius in zip(tracks, radii, strict=True)
        ]
        one, other = pose_at(self.rig.action, start), pose_at(self.rig.action, stop)
        squeezed = np.abs(other.scales - one.scales)  # (n_spans, n_bones, 2)
        wide = np.array([_half_sizes(body) for body in skeleton.bodies])  # (n_bones, 2)
        grown = np.hypot(*np.moveaxis(squeezed * wide, -1, 0))
        largest = np.maximum(one.scales, other.scales)
        reach = np.hypot(*np.moveaxis(largest * wide, -1, 0))
        bones = [(grown[:, b], reach[:, b]) for b in range(len(wide))]
        carriers = [BONE_IDS.index(track.bone) for track in tracks] + list(range(len(wide)))
        turned = np.abs(other.turns - one.turns)  # (n_spans, n_bones)
        rooted = np.hypot(*(other.root - one.root).T)
        out = np.full((len(start), len(carriers), STAGE + 1), np.inf)
        for i, ((way, far), bone) in enumerate(zip(own + bones, carriers, strict=True)):
            while True:
                out[:, i, bone] = way
                # The bone turns under what it carries, and its joint shifts on its parent.
                way = way + turned[:, bone] * far
                parent = PARENTS[bone]
                if parent < 0:
                    out[:, i, STAGE] = way + rooted
                    break
                offset = np.abs(skeleton.offsets[bone])
                way = way + np.hypot(*(squeezed[:, parent] * offset).T)
                far = far + np.hypot(*(largest[:, parent] * offset).T)
                bone = parent
        return out


def _on_bone(
    track: Track, radius: tuple[float, float], start: Floats, stop: Floats, *, reverse: bool
) -> tuple[Floats, Floats]:
    """Way of a piece on its bone, and how far from the joint it may get; (n_spans,)."""
    u = [minimum_jerk((t - track.start) / (track.end - track.start)) for t in (start, stop)]
    steps = np.diff(track.key_channels, axis=0)  # (n_keys - 1, 6)
    stretch_steps = np.sqrt(steps[:, 3] ** 2 + 2 * steps[:, 4] ** 2 + steps[:, 5] ** 2)
    moved, turned, stretched = (
        _between(np.concatenate([[0.0], np.cumsum(size)]), u, track.key_u)
        for size in (np.hypot(steps[:, 0], steps[:, 1]), np.abs(steps[:, 2]), stretch_steps)
    )
    at = np.stack([np.interp(u[0], track.key_u, c) for c in track.key_channels.T])
    size = np.sqrt(at[3] ** 2 + 2 * at[4] ** 2 + at[5] ** 2) + stretched
    drawn, bending = radius
    shares = [bent_at(track, t, reverse=reverse) for t in (start, stop)]
    bent = bending * np.abs(shares[1] - shares[0])
    way = moved + turned * size * drawn + stretched * drawn + size * bent
    return way, np.hypot(at[0], at[1]) + moved + size * drawn


def _between(run: Floats, u: list[Floats], key_u: Floats) -> Floats:
    return np.abs(np.interp(u[1], key_u, run) - np.interp(u[0], key_u, run))


def _radius(piece: Piece, track: Track) -> tuple[float, float]:
    """How far a piece reaches from its pivot however it is drawn, and how far its whole
    bend can carry a point.
    """
    centre = drawn_centroids([piece])[0]
    xy = np.concatenate([shapely.get_coordinates(s) for s in (piece.outline, piece.worn)])
    radius = float(np.hypot(*(xy - centre).T).max())
    if track.bend is None:
        return radius, 0.0
    curvature, taper = abs(track.bend.curvature), abs(track.bend.taper)
    wide = radius * (1 + taper * radius)
    # d/ds of (integral of e^(i k s x) dx) + wide e^(i k s x), and of the width itself.
    bending = curvature * (0.5 * radius**2 + wide * radius) + taper * radius**2
    return radius + bending, bending


def _half_sizes(body: Shape) -> Floats:
    """(2,), how far a body reaches from its joint along the bone and across it."""
    return np.asarray(np.abs(shapely.get_coordinates(body)).max(axis=0))
