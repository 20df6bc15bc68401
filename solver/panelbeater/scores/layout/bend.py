"""Does the armour still cover the body when elbows, knees, torso and head turn?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import affinity

from panelbeater.scores.arrays import Shapes
from panelbeater.scores.overlay import joined, made_valid, shared
from panelbeater.scores.promises.floats import floating
from panelbeater.scores.result import Score
from panelbeater.scores.tracks import Tracks
from panelbeater.terms.arrays import Ints


@dataclass(frozen=True, slots=True)
class Hinge:
    """One joint of the bend test: what turns, about which bone, and how far."""

    name: str
    rides: tuple[str, ...]
    """Bones that turn; the first one carries the joint."""
    on: str
    """Bone that stays."""
    angles_deg: tuple[float, ...]


_ABOVE_WAIST = (
    "torso", "head", "upper_arm_l", "forearm_l", "hand_l",
    "upper_arm_r", "forearm_r", "hand_r",
)  # fmt: skip
# The figure faces us with its left at larger x. Positive turns take x towards y, so left
# limbs swing outwards with negative angles and right limbs with positive ones.
HINGES: tuple[Hinge, ...] = (
    Hinge("elbow_l", ("forearm_l", "hand_l"), "upper_arm_l", (-45.0, -90.0)),
    Hinge("elbow_r", ("forearm_r", "hand_r"), "upper_arm_r", (45.0, 90.0)),
    Hinge("knee_l", ("shank_l", "foot_l"), "thigh_l", (-45.0, -90.0)),
    Hinge("knee_r", ("shank_r", "foot_r"), "thigh_r", (45.0, 90.0)),
    Hinge("torso", _ABOVE_WAIST, "waist", (-15.0, 15.0)),
    Hinge("head", ("head",), "torso", (-20.0, 20.0)),
)


def score_bend(tracks: Tracks) -> tuple[Score, ...]:
    """Bend test: coverage with body while one joint at a time turns, worst and mean.

    From the last frame alone: bones, the regions named after them and the pieces riding
    them turn rigidly about the joint, which is estimated as the middle of the overlap of
    the two bone shapes (of the shortest gap where they do not overlap). Elbows and knees
    to 90 degrees outwards, torso +-15, head +-20 (metrics.md; sampled angles are the
    project's). Coverage is area((pieces and bones) and figure) / area(figure) of the turned
    figure; floats is the largest number of floating pieces in one pose.
    """
    regions = _regions(tracks)
    if shapely.area(regions).sum() <= 0:
        return ()
    results = []
    for hinge in HINGES:
        present = [name for name in hinge.rides if name in tracks.bone_ids]
        if hinge.rides[0] not in tracks.bone_ids or hinge.on not in tracks.bone_ids:
            continue
        bones = np.array([tracks.bone_ids.index(name) for name in present], dtype=np.int64)
        joint = _joint(tracks, int(bones[0]), tracks.bone_ids.index(hinge.on))
        if joint is None:
            continue
        for angle in hinge.angles_deg:
            covered, floats = _pose(tracks, regions, bones, joint, angle)
            results.append((covered, floats, f"{hinge.name} at {angle:g} degrees"))
    if not results:
        return ()
    worst = min(results)
    most = max(results, key=lambda result: result[1])
    mean = float(np.mean([covered for covered, _, _ in results]))
    return (
        Score("bend test, worst", worst[0], "share", note=worst[2]),
        Score("bend test, mean", mean, "share"),
        Score(
            "bend test, floats", float(most[1]), "pieces", note=most[2] if most[1] else ""
        ),
    )


def _regions(tracks: Tracks) -> Shapes:
    """(n_bones,), the region each bone carries; empty where none has the bone's name."""
    named = {region.id: made_valid(region.outline) for region in tracks.shot.regions}
    out: Shapes = np.empty(len(tracks.bone_ids), dtype=object)
    out[:] = [named.get(name, shapely.Polygon()) for name in tracks.bone_ids]
    return out


def _joint(tracks: Tracks, one: int, other: int) -> tuple[float, float] | None:
    a, b = tracks.bones[-1, one], tracks.bones[-1, other]
    if a.is_empty or b.is_empty:
        return None
    meeting = shared(a, b)
    middle = (shapely.shortest_line(a, b) if meeting.is_empty else meeting).centroid
    return middle.x, middle.y


def _pose(
    tracks: Tracks, regions: Shapes, bones: Ints, joint: tuple[float, float], angle: float
) -> tuple[float, int]:
    def turned(shapes: Shapes, which: Ints) -> Shapes:
        out = shapes.copy()
        for at in which:
            out[at] = affinity.rotate(shapes[at], angle, origin=joint)
        return out

    riding = np.flatnonzero(np.isin(tracks.bone_of[-1], bones))
    pieces = turned(tracks.outlines[-1], riding)
    body = turned(tracks.bones[-1], bones)
    figure = joined(turned(regions, bones))
    shown = tracks.visible[-1]
    dressed = joined(np.concatenate([pieces[shown], body]))
    loose = floating(
        pieces,
        shown,
        body,
        body_contact=tracks.limits.body_contact * tracks.height,
        piece_contact=tracks.limits.piece_contact * tracks.height,
    )
    covered = shared(dressed, figure).area / figure.area
    return float(covered), int(loose.sum())
