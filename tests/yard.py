"""The yard tractor laid on a capsule figure by hand, so that a stage can be tried alone."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from panelbeater.fold import FoldOptions, find_folds
from panelbeater.geometry.frames import map_shape, moved, rigid
from panelbeater.kinematics.chain import Skeleton, skeleton_of
from panelbeater.paths import Rides, find_rides, frame_width, plan_paths
from panelbeater.rig import sample_rig
from panelbeater.schedule import schedule_moves
from panelbeater.terms.assignment import Assignment, Cover
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.figure import Figure
from panelbeater.terms.pose import Action, Fold
from panelbeater.terms.rig import Rig, Sample
from panelbeater.terms.timing import Schedule, ShotOptions
from panelbeater.unfold import unfold_body
from tests.figures import capsule_figure
from tests.vehicles import yard_tractor

GROUND = 100.0
REGIONS = (
    "foot_r", "thigh_r", "waist", "thigh_l", "foot_l",
    "hand_r", "forearm_r", "waist", "forearm_l", "hand_l",
    "upper_arm_r", "torso", "torso", "torso", "upper_arm_l",
    "head", "torso", "shank_r", "shank_l",
)  # fmt: skip
"""Region of each piece, in the order of the drawing."""


@dataclass(frozen=True, slots=True, eq=False)
class Yard:
    """Every noun of one shot up to its finished rig."""

    drawing: Drawing
    figure: Figure
    skeleton: Skeleton
    fold: Fold
    action: Action
    assignment: Assignment
    rides: Rides
    schedule: Schedule
    rig: Rig
    sample: Sample


@cache
def yard_figure() -> Figure:
    """A figure somewhat taller than the tractor."""
    return capsule_figure(120, x=50, ground=GROUND)


@cache
def booted_skeleton() -> Skeleton:
    """That figure with its ankles half-way up to the hips, as in boots."""
    figure = yard_figure()
    starts = {bone.id: bone.start for bone in figure.bones}
    bones = []
    for bone in figure.bones:
        name, side = bone.id[:-2], bone.id[-1]
        if name in ("thigh", "shank", "foot"):
            hip, low = starts[f"thigh_{side}"], starts[f"foot_{side}"]
            knee, ankle = hip + 0.25 * (low - hip), hip + 0.5 * (low - hip)
            at = {"thigh": (hip, knee), "shank": (knee, ankle), "foot": (ankle, bone.end)}
            bone = replace(bone, start=at[name][0], end=at[name][1])
        bones.append(bone)
    return skeleton_of(replace(figure, bones=tuple(bones)))


@cache
def yard_fold() -> Fold:
    """The first fold that hides in the tractor."""
    options = FoldOptions(n_starts=16, n_steps=160)
    rng = np.random.default_rng(1)
    tractor, figure = yard_tractor(), yard_figure()
    return find_folds(tractor.silhouette, figure, rng=rng, n_folds=1, options=options)[0]


def hand_layout(drawing: Drawing, figure: Figure) -> Assignment:
    """Each piece on the middle of its bone, turned and shrunk a little, above ground."""
    covers = []
    for i, (piece, region) in enumerate(zip(drawing.pieces, REGIONS, strict=True)):
        bone = next(bone for bone in figure.bones if bone.id == region)
        turn, scale = 0.6 * (i % 5 - 2), 0.75 + 0.05 * (i % 4)
        place = rigid((bone.start + bone.end) / 2, np.array(turn)) @ np.diag(
            [scale, scale, 1.0]
        )
        centre = piece.outline.centroid
        laid = map_shape(place @ moved(-centre.x, -centre.y), piece.outline)
        place = moved(0.0, -max(0.0, laid.bounds[3] - GROUND)) @ place
        covers.append(Cover(piece.id, region, place, scale, 1.0, 0.01, "laid by hand"))
    return Assignment(tuple(covers), 0.0, 0.0, "by hand", len(covers))


@cache
def yard(n_frames: int = 48) -> Yard:
    """The whole shot but for the solver of the assignment."""
    drawing = yard_tractor()
    return yard_shot(drawing, hand_layout(drawing, yard_figure()), n_frames)


def yard_shot(drawing: Drawing, assignment: Assignment, n_frames: int) -> Yard:
    """The shot of a layout given by hand; the drawing is some form of the tractor."""
    figure, fold = yard_figure(), yard_fold()
    skeleton, shot = skeleton_of(figure), ShotOptions(n_frames=n_frames)
    action = unfold_body(skeleton, fold, height=figure.height, ground=GROUND, shot=shot)
    width = frame_width(drawing.silhouette, figure.silhouette)
    rides = find_rides(drawing, skeleton, action, assignment, width=width)
    schedule = schedule_moves(
        drawing,
        assignment,
        action,
        rides.travel / figure.height,
        shot=shot,
    )
    tracks = plan_paths(
        drawing, skeleton, action, assignment, rides, schedule,
        ground=GROUND, height=figure.height, shot=shot,
    )  # fmt: skip
    depth = np.tile([piece.depth for piece in drawing.pieces], (n_frames, 1))
    rig = Rig(drawing, figure, fold, action.pose, tracks, depth, GROUND, shot)
    sample = sample_rig(rig, np.arange(n_frames, dtype=np.float64))
    return Yard(
        drawing, figure, skeleton, fold, action, assignment, rides, schedule, rig, sample
    )
