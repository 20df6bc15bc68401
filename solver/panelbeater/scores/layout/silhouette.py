"""Does the robot's outer edge read as the figure, and no longer as the vehicle?"""

from __future__ import annotations

import numpy as np
import shapely

from panelbeater.scores.layout.coverage import dressed
from panelbeater.scores.likeness import aligned, intersection_over_union
from panelbeater.scores.result import Score
from panelbeater.scores.tracks import Tracks
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.drawing import Shape

_STEPS = 500  # Boundary samples per sqrt(area): the distance is right to 0.1 % of it.


def score_silhouette(tracks: Tracks) -> tuple[Score, ...]:
    """IoU and boundary distance of robot and figure; distinctness of robot and vehicle.

    The robot is visible pieces and body shapes together. Boundary distance is the Hausdorff
    distance / sqrt(area of the figure). Distinctness = 1 - IoU(vehicle, robot) with
    centroid and area made equal (metrics.md, layout scores).
    """
    robot = dressed(tracks)
    if robot.area <= 0:
        return ()
    away = boundary_distance(robot, tracks.figure) / float(np.sqrt(tracks.figure.area))
    alike = intersection_over_union(tracks.vehicle, aligned(robot, tracks.vehicle))
    return (
        Score("silhouette IoU", intersection_over_union(robot, tracks.figure), "share"),
        Score("silhouette distance", away, "of sqrt(area)"),
        Score("distinctness", 1.0 - alike, "share"),
    )


def boundary_distance(one: Shape, other: Shape) -> float:
    """Hausdorff distance of two boundaries, drawing units.

    Sampled along both boundaries finely enough for 0.1 % of sqrt(area); the distance of
    every sample to the other boundary is exact (Huttenlocher et al. 1993).
    """
    step = float(np.sqrt(min(one.area, other.area))) / _STEPS
    away = 0.0
    for edge, against in ((one.boundary, other.boundary), (other.boundary, one.boundary)):
        samples = shapely.get_coordinates(shapely.segmentize(edge, step))
        away = max(away, float(_nearest(against, samples).max()))
    return away


def _nearest(edge: shapely.Geometry, samples: Points) -> Floats:
    """(n,), distance of samples to an edge; links in a tree keep this quick."""
    xy, line = shapely.get_coordinates(shapely.get_parts(edge), return_index=True)
    links = np.stack([xy[:-1], xy[1:]], axis=1)[line[:-1] == line[1:]]  # (n_links, 2, 2)
    tree = shapely.STRtree(shapely.linestrings(links))
    points = np.asarray(shapely.points(samples))
    _, away = tree.query_nearest(points, return_distance=True, all_matches=False)
    return np.asarray(away)
