"""What a folded body costs: limbs that stick out, limbs on one heap, limbs made shorter."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from panelbeater.geometry.distance import DistanceGrid
from panelbeater.kinematics.chain import PARENTS, Skeleton, place_bones
from panelbeater.kinematics.limits import turn_limits
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.figure import BONE_TREE
from panelbeater.terms.pose import Pose

GROUPS: tuple[str, ...] = ("trunk", "head", "arm_l", "arm_r", "leg_l", "leg_r")
"""Limbs that are foreshortened as one."""
GROUP_OF_BONE: tuple[int, ...] = tuple(
    GROUPS.index("trunk" if controller in ("waist", "torso") else controller)
    for _, _, controller in BONE_TREE
)
N_BONES = len(BONE_TREE)
N_SCALES = 2 * len(GROUPS)
FEET = [i for i, (name, _, _) in enumerate(BONE_TREE) if name.startswith("foot")]


@dataclass(frozen=True, slots=True)
class FoldOptions:
    """Weights are dimensionless: lengths are divided by the figure's height."""

    n_starts: int = 64
    n_steps: int = 260
    n_rounds: int = 6
    """Rounds in which one limb of a good fold is thrown anew: on six hard drawings the
    shortest limb went from 0.55-0.68 to 0.75-0.9 within six, little after."""
    n_rethrow_steps: int = 80
    n_parents: int = 8
    n_pool: int = 32
    enough: int = 3
    """Folds that differ; with fewer new bodies are grown."""
    n_more_rounds: int = 4
    relief: float = 0.3
    """What a shorter or thinner limb costs those, against before; 1 for no relief."""
    n_sketch: int = 12
    """Points round the edge of a body while limbs are thrown; twenty when it settles."""
    margin: float = 0.006
    """Distance kept from the edge while searching, share of the figure's height."""
    outside_weight: float = 900.0
    shorter_weight: float = 2.0
    thinner_weight: float = 0.3
    heap_weight: float = 0.04
    heap_reach: float = 0.11
    """Bones nearer than this (share of the height) push each other apart."""
    effort_weight: float = 0.01
    low_feet_weight: float = 0.08
    length_min: float = 0.55  # a usual foreshortening in cut-out work, see the design notes
    width_min: float = 0.4
    seedling: float = 0.25
    """Size of the body when the search begins."""
    grown_by: float = 0.6
    """Share of the steps after which it has its full size."""
    shrink: float = 0.96
    """Where a fold leaks, its limbs are drawn this much smaller and it is tried again."""
    n_shrinks: int = 14
    n_settle: int = 40


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """Sample points of every bare bone body, in bone frames: (n_bones, n_points, 2)."""

    skeleton: Skeleton
    points: Points
    height: float


def sample_body(skeleton: Skeleton, height: float, n_edge: int = 20) -> Body:
    """Points round the edge of each body and along its axis; the axis catches window holes
    that an edge alone would straddle.
    """
    points = []
    for body, length in zip(skeleton.bodies, skeleton.lengths, strict=True):
        ring = shapely.get_exterior_ring(shapely.convex_hull(body))
        steps = np.linspace(0, 1, n_edge, endpoint=False)
        edge = shapely.get_coordinates(
            shapely.line_interpolate_point(ring, steps, normalized=True)
        )
        axis = np.stack([np.linspace(0, length, 4), np.zeros(4)], axis=-1)
        points.append(np.concatenate([edge, axis]))
    return Body(skeleton, np.array(points), height)


def unpack(body: Body, x: Floats) -> Pose:
    """Unknowns (..., 2 + n_bones + 12) to a pose: root, turns off rest, lengths, widths."""
    n = N_BONES
    groups = np.array(GROUP_OF_BONE)
    lengths, widths = x[..., 2 + n : 8 + n], x[..., 8 + n : 14 + n]
    scales = np.stack([lengths[..., groups], widths[..., groups]], axis=-1)
    return Pose(
        x[..., :2] * body.height, body.skeleton.rest.turns + x[..., 2 : 2 + n], scales
    )


def limits(options: FoldOptions) -> tuple[Floats, Floats]:
    """Lowest and highest value of each unknown."""
    turns = turn_limits()
    low = np.concatenate([[-np.inf] * 2, -turns, [options.length_min] * 6,
                          [options.width_min] * 6])  # fmt: skip
    return low, np.concatenate([[np.inf] * 2, turns, np.ones(12)])


def energy(
    body: Body, grid: DistanceGrid, x: Floats, options: FoldOptions, *, firmness: float
) -> tuple[Floats, Floats]:
    """Cost (n_starts,) and analytic gradient (n_starts, n_unknowns).

    The gradient gathers forces from the leaves to the root: a turn feels the moment of
    every force further down its chain.
    """
    height = body.height
    pose = unpack(body, x)
    origins, angles = place_bones(body.skeleton, pose)  # (s, b, 2), (s, b)
    cos, sin = np.cos(angles), np.sin(angles)
    points = _on_stage(body, pose, origins, cos, sin)  # two of (s, b, k)
    distance, *slope = grid.look_up(*points)
    out = np.maximum(0.0, distance / height + options.margin)
    weight = options.outside_weight * firmness / body.points.shape[1]
    # Quadratic near the edge, straight beyond: a narrow gap between cab and load must cost
    # as much as its crossing shows, not next to nothing.
    bend = options.margin
    cost = weight * (out**2 / (out + bend)).sum(axis=(1, 2)) * bend
    rise = (weight / height * bend) * out * (out + 2 * bend) / (out + bend) ** 2
    force = (rise * slope[0], rise * slope[1])  # two of (s, b, k)
    crowding, push = _crowding(points, height, options)
    cost += crowding
    force[0][...] += push[..., :1] / body.points.shape[1]
    force[1][...] += push[..., 1:] / body.points.shape[1]
    gradient = _gather(body, pose, origins, (cos, sin), points, force)
    _add_change(cost, gradient, x, options)
    return cost, gradient


def _on_stage(
    body: Body, pose: Pose, origins: Points, cos: Floats, sin: Floats
) -> tuple[Floats, Floats]:
    """X and y of every sample point, each (n_starts, n_bones, n_points)."""
    along = body.points[..., 0] * pose.scales[..., 0, None]
    across = body.points[..., 1] * pose.scales[..., 1, None]
    cos, sin = cos[..., None], sin[..., None]
    return (
        origins[..., 0, None] + cos * along - sin * across,
        origins[..., 1, None] + sin * along + cos * across,
    )


def _crowding(
    points: tuple[Floats, Floats], height: float, options: FoldOptions
) -> tuple[Floats, Points]:
    """Cost (n_starts,) of limbs on one heap and of feet held high, and the push on every
    bone (n_starts, n_bones, 2).
    """
    middle = np.stack([points[0].mean(axis=2), points[1].mean(axis=2)], axis=-1)
    apart = (middle[:, :, None] - middle[:, None]) / (options.heap_reach * height)
    near = np.exp(-0.5 * (apart**2).sum(-1)) * (1 - np.eye(N_BONES))
    cost = 0.5 * options.heap_weight * near.sum(axis=(1, 2))
    push = -options.heap_weight * (near[..., None] * apart).sum(2)
    push /= options.heap_reach * height
    cost -= options.low_feet_weight * middle[:, FEET, 1].sum(-1) / height
    push[:, FEET, 1] -= options.low_feet_weight / height
    return cost, push


def _add_change(cost: Floats, gradient: Floats, x: Floats, options: FoldOptions) -> None:
    """What bent joints and smaller limbs cost, added in place."""
    n = N_BONES
    delta, lengths, widths = x[:, 2 : 2 + n], x[:, 2 + n : 8 + n], x[:, 8 + n :]
    cost += options.effort_weight * (delta**2).sum(-1)
    cost += options.shorter_weight * ((1 - lengths) ** 2).sum(-1)
    cost += options.thinner_weight * ((1 - widths) ** 2).sum(-1)
    gradient[:, 2 : 2 + n] += 2 * options.effort_weight * delta
    gradient[:, 2 + n : 8 + n] -= 2 * options.shorter_weight * (1 - lengths)
    gradient[:, 8 + n :] -= 2 * options.thinner_weight * (1 - widths)


def _gather(
    body: Body,
    pose: Pose,
    origins: Points,
    axes: tuple[Floats, Floats],
    points: tuple[Floats, Floats],
    force: tuple[Floats, Floats],
) -> Floats:
    """Forces on sample points, two of (s, b, k), to slopes of the unknowns (s,
    n_unknowns).
    """
    cos, sin = axes  # (s, b)
    fx, fy = force
    total = np.stack([fx.sum(2), fy.sum(2)], axis=-1)  # (s, b, 2): this bone and below
    moment = (points[0] * fy - points[1] * fx).sum(2)
    along = np.einsum("sbk,bk->sb", fx, body.points[..., 0])
    across = np.einsum("sbk,bk->sb", fx, body.points[..., 1])
    along_y = np.einsum("sbk,bk->sb", fy, body.points[..., 0])
    across_y = np.einsum("sbk,bk->sb", fy, body.points[..., 1])
    stretch = np.stack([cos * along + sin * along_y, cos * across_y - sin * across], -1)
    for bone in range(N_BONES - 1, 0, -1):
        parent = PARENTS[bone]
        total[:, parent] += total[:, bone]
        moment[:, parent] += moment[:, bone]
        fx, fy = total[:, bone, 0], total[:, bone, 1]
        c, s = cos[:, parent], sin[:, parent]
        offset = body.skeleton.offsets[bone]
        stretch[:, parent, 0] += offset[0] * (c * fx + s * fy)
        stretch[:, parent, 1] += offset[1] * (c * fy - s * fx)
    turns = moment - (origins[..., 0] * total[..., 1] - origins[..., 1] * total[..., 0])
    by_group = np.eye(len(GROUPS))[list(GROUP_OF_BONE)]  # (b, 6)
    return np.concatenate(
        [
            total[:, 0] * body.height,
            turns,
            stretch[..., 0] @ by_group,
            stretch[..., 1] @ by_group,
        ],
        axis=1,
    )
