"""The same armour on another body: proportions varied as much as people vary."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from panelbeater.geometry.frames import apply, map_shape
from panelbeater.kinematics.chain import skeleton_of, stage_from_bones
from panelbeater.stress.recast import Cast, together
from panelbeater.terms.arrays import Affines, Floats
from panelbeater.terms.assignment import Cover
from panelbeater.terms.figure import BONE_IDS, Figure
from panelbeater.terms.pose import KeyPose, Pose

# Standard deviation over mean of the matching measure in C. C. Gordon et al., 2012
# Anthropometric Survey of U.S. Army Personnel (ANSUR II), Natick/TR-15/007, men and women
# each rounded from memory, not looked up: good for "how much do people differ", no more.
LENGTH_SPREAD: dict[str, float] = {
    "waist": 0.040, "torso": 0.040, "head": 0.035, "upper_arm": 0.052, "forearm": 0.058,
    "hand": 0.051, "thigh": 0.055, "shank": 0.057, "foot": 0.048,
}  # fmt: skip
WIDTH_SPREAD = 0.06
"""Girths differ more than lengths; one draw for the whole body (same source)."""


def another_body(cast: Cast, rng: np.random.Generator) -> Cast:
    """The same armour on a figure of other proportions; left and right stay alike.

    Every piece keeps its size and its place on its bone; the fold keeps its angles. Each
    part of the body is drawn on its own, which varies more than real bodies do.
    """
    here = cast.hidden
    figure, moves = _stretched(here.figure, _scales(rng), here.ground)
    covers = tuple(
        _carried(cover, moves[BONE_IDS.index(cover.region)])
        for cover in cast.assignment.covers
    )
    poses = tuple(_on_body(pose, here.figure, figure) for pose in here.poses)
    done = replace(cast.assignment, covers=covers)
    return Cast(replace(here, figure=figure, poses=poses), done, cast.shot)


def _scales(rng: np.random.Generator) -> Floats:
    """(n_bones, 2), length and width factors."""
    draws = {
        part: 1.0 + spread * float(np.clip(rng.standard_normal(), -2, 2))
        for part, spread in LENGTH_SPREAD.items()
    }
    width = 1.0 + WIDTH_SPREAD * float(np.clip(rng.standard_normal(), -2, 2))
    parts = [name.removesuffix("_l").removesuffix("_r") for name in BONE_IDS]
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
