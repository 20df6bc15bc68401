"""The same armour on another body: proportions varied as much as people vary."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from panelbeater.fold import settle_fold
from panelbeater.geometry.frames import apply, map_shape
from panelbeater.kinematics.chain import skeleton_of, stage_from_bones
from panelbeater.stress.recast import Cast, together
from panelbeater.terms.arrays import Affines, Floats
from panelbeater.terms.assignment import Cover
from panelbeater.terms.figure import BONE_IDS, Figure, without_side
from panelbeater.terms.pose import KeyPose, Pose

# Standard deviation over mean of (measure / stature), half-way between 4,082 men and 1,986
# women, worked out from the public data of C. C. Gordon et al., 2012 Anthropometric Survey
# of U.S. Army Personnel (ANSUR II), Natick/TR-15/007, 2014. In its words: cervicale less
# trochanterion height, stature less cervicale height, acromion-radiale length,
# radiale-stylion length, hand length, trochanterion less lateral femoral epicondyle height,
# that less lateral malleolus height, foot length.
PROPORTIONS: dict[str, float] = {
    "trunk": 0.039, "head": 0.048, "upper_arm": 0.033, "forearm": 0.043, "hand": 0.040,
    "thigh": 0.049, "shank": 0.039, "foot": 0.034,
}  # fmt: skip
BREADTH = 0.065
"""The mean of the same for bideltoid, chest and hip breadth; one draw for all parts."""


def another_body(cast: Cast, rng: np.random.Generator) -> Cast:
    """The same armour on a figure of other proportions and the same height; left and right
    stay alike.

    Every piece keeps its size and its place on its bone; the fold eases to where the other
    body hides. Each part of the body is drawn on its own, which varies more than real
    bodies do: in those a long thigh goes with a short trunk.
    """
    here = cast.hidden
    scales = _scales(rng)
    figure, _ = _stretched(here.figure, scales, here.ground)
    scales *= here.figure.height / figure.height
    figure, moves = _stretched(here.figure, scales, here.ground)
    covers = tuple(
        _carried(cover, moves[BONE_IDS.index(cover.region)])
        for cover in cast.assignment.covers
    )
    poses = tuple(_on_body(pose, here.figure, figure) for pose in here.poses)
    fold = settle_fold(here.drawing.silhouette, figure, here.folds[0])
    hidden = replace(here, figure=figure, poses=poses, folds=(fold,))
    return Cast(hidden, replace(cast.assignment, covers=covers), cast.shot)


def _scales(rng: np.random.Generator) -> Floats:
    """(n_bones, 2), length and width factors."""
    draws = {
        part: 1.0 + spread * float(np.clip(rng.standard_normal(), -2, 2))
        for part, spread in PROPORTIONS.items()
    }
    draws["waist"] = draws["torso"] = draws.pop("trunk")
    width = 1.0 + BREADTH * float(np.clip(rng.standard_normal(), -2, 2))
    parts = [without_side(name) for name in BONE_IDS]
    return np.array([(draws[part], width) for part in parts])


def _stretched(figure: Figure, scales: Floats, ground: float) -> tuple[Figure, Affines]:
    """The figure with every bone so much longer and wider, feet on the ground again."""
    skeleton = skeleton_of(figure)
    rest = skeleton.rest
    was = stage_from_bones(skeleton, rest)  # (n_bones, 3, 3)
    now = stage_from_bones(skeleton, Pose(rest.root, rest.turns, scales))
    grow = np.zeros_like(was)
    grow[:, 0, 0], grow[:, 1, 1], grow[:, 2, 2] = scales[:, 0], scales[:, 1], 1.0
    moves = now @ grow @ np.linalg.inv(was)
    sunk = max(
        map_shape(move, bone.region).bounds[3]
        for move, bone in zip(moves, figure.bones, strict=True)
    )
    moves[:, 1, 2] += ground - sunk
    bones = tuple(
        replace(
            bone,
            start=apply(move, np.asarray(bone.start)[None])[0],
            end=apply(move, np.asarray(bone.end)[None])[0],
            region=map_shape(move, bone.region),
            body=map_shape(move, bone.body),
        )
        for move, bone in zip(moves, figure.bones, strict=True)
    )
    silhouette = together([bone.region for bone in bones])
    return replace(figure, silhouette=silhouette, bones=bones), moves


def _on_body(pose: KeyPose, was: Figure, now: Figure) -> KeyPose:
    """The key pose, its root as far from this body standing as it was from that one."""
    if pose.root is None:
        return pose
    moved = np.asarray(now.bones[0].start) - np.asarray(was.bones[0].start)
    return replace(pose, root=pose.root + moved)


def _carried(cover: Cover, move: Affines) -> Cover:
    """The cover with its middle moved along; turned and sized as before."""
    place = np.array(cover.stage_from_piece)
    place[:2, 2] = apply(move, place[None, :2, 2])[0]
    return replace(cover, stage_from_piece=place)
