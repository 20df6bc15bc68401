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


@dataclass(frozen=True, slots=True)
class FoldOptions:
    """Weights are dimensionless: lengths are divided by the figure's height."""

    n_starts: int = 64
    n_steps: int = 260
    margin: float = 0.006
    """Distance kept from the edge while searching, share of the figure's height."""
    outside_weight: float = 900.0
    shorter_weight: float = 0.6
    thinner_weight: float = 0.15
    heap_weight: float = 0.06
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
    height, n = body.height, N_BONES
    pose = unpack(body, x)
    origins, angles = place_bones(body.skeleton, pose)  # (s, b, 2), (s, b)
    cos, sin = np.cos(angles)[..., None], np.sin(angles)[..., None]
    local = body.points * pose.scales[..., None, :]  # (s, b, k, 2)
    turned = np.stack(
        [
            cos * local[..., 0] - sin * local[..., 1],
            sin * local[..., 0] + cos * local[..., 1],
        ],
        -1,
    )
    points = origins[..., None, :] + turned
    distance, slope = grid.at(points)
    out = np.maximum(0.0, distance / height + options.margin)
    weight = options.outside_weight * firmness / body.points.shape[1]
    # Quadratic near the edge, straight beyond: a narrow gap between cab and load must cost
    # as much as its crossing shows, not next to nothing.
    bend = options.margin
    cost = weight * (out**2 / (out + bend)).sum(axis=(1, 2)) * bend
    rise = out * (out + 2 * bend) / (out + bend) ** 2 * bend
    force = (weight / height) * rise[..., None] * slope  # (s, b, k, 2)

    middle = points.mean(axis=2)  # (s, b, 2)
    apart = (middle[:, :, None] - middle[:, None]) / (options.heap_reach * height)
    near = np.exp(-0.5 * (apart**2).sum(-1)) * (1 - np.eye(n))
    cost += 0.5 * options.heap_weight * near.sum(axis=(1, 2))
    push = -options.heap_weight * (near[..., None] * apart).sum(2)
    push /= options.heap_reach * height
    feet = [i for i, (name, _, _) in enumerate(BONE_TREE) if name.startswith("foot")]
    cost -= options.low_feet_weight * middle[:, feet, 1].sum(-1) / height
    push[:, feet, 1] -= options.low_feet_weight / height
    force += push[:, :, None, :] / body.points.shape[1]

    gradient = _gather(body, pose, origins, (cos, sin), points, force)
    delta, lengths, widths = x[:, 2 : 2 + n], x[:, 2 + n : 8 + n], x[:, 8 + n :]
    cost += options.effort_weight * (delta**2).sum(-1)
    cost += options.shorter_weight * ((1 - lengths) ** 2).sum(-1)
    cost += options.thinner_weight * ((1 - widths) ** 2).sum(-1)
    gradient[:, 2 : 2 + n] += 2 * options.effort_weight * delta
    gradient[:, 2 + n : 8 + n] -= 2 * options.shorter_weight * (1 - lengths)
    gradient[:, 8 + n :] -= 2 * options.thinner_weight * (1 - widths)
    return cost, gradient


def _gather(
    body: Body,
    pose: Pose,
    origins: Points,
    axes: tuple[Floats, Floats],
    points: Points,
    force: Points,
) -> Floats:
    """Forces (s, b, k, 2) on sample points to slopes of the unknowns (s, n_unknowns)."""
    cos, sin = axes[0][..., 0], axes[1][..., 0]  # (s, b)
    total = force.sum(axis=2)  # (s, b, 2): everything from this bone down
    moment = (points[..., 0] * force[..., 1] - points[..., 1] * force[..., 0]).sum(2)
    along = cos[..., None] * force[..., 0] + sin[..., None] * force[..., 1]
    across = cos[..., None] * force[..., 1] - sin[..., None] * force[..., 0]
    stretch = np.stack([(along * body.points[..., 0]).sum(2),
                        (across * body.points[..., 1]).sum(2)], -1)  # fmt: skip
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
