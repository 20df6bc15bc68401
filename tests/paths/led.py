"""Small crowds whose pieces go straight over a broad body, for the ways round."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from panelbeater.geometry.frames import moved
from panelbeater.paths import PathOptions
from panelbeater.paths.clear import Clearance, find_clearances
from panelbeater.paths.crowd import PARTS, Crowd
from panelbeater.terms.arrays import Flags, Points
from panelbeater.terms.drawing import Shape

OPTIONS = PathOptions()
HEIGHT, N_FRAMES, FIRST, LAST = 100.0, 40, 5, 35
LEAVES, LANDS = 4, 35
EVERYWHERE = box(-200, -200, 300, 300)
"""A body that carries whatever is on the stage."""
Spot = tuple[float, float]


def crowd_of(
    *rides: tuple[Shape, Spot, Spot],
    body: Shape = EVERYWHERE,
    ground: float = 300.0,
) -> Crowd:
    """Pieces drawn about (0, 0) that go straight and evenly from a spot to another."""
    t = np.arange(PARTS * (N_FRAMES - 1) + 1) / PARTS
    u = np.clip((t - LEAVES) / (LANDS - LEAVES), 0, 1)
    starts = np.array([start for _, start, _ in rides])
    ways = np.array([end for _, _, end in rides]) - starts
    placed = np.array([[moved(*spot) for spot in starts + share * ways] for share in u])
    shapes = tuple(shape for shape, _, _ in rides)
    shares = np.tile((np.arange(1, PARTS) / PARTS)[:, None], (N_FRAMES - 1, 1, len(rides)))
    return Crowd(
        (shapes,) * N_FRAMES, placed, ((body,),) * len(placed), ground, HEIGHT,
        np.zeros(placed.shape[:2]), shares,
    )  # fmt: skip


def wishes(crowd: Crowd, **wanted: Sequence[str]) -> tuple[Clearance, ...]:
    """Pieces are called a, b, c."""
    names = "abc"[: crowd.placed.shape[1]]
    return find_clearances(wanted, list(names), crowd, OPTIONS)


def outlines(crowd: Crowd, moves: Points, piece: int) -> list[BaseGeometry]:
    """A piece at every eighth of a frame."""
    at = crowd.in_between(moves)[:, piece]
    return [crowd.shape(k, piece, move) for k, move in enumerate(at)]


def overlaps(crowd: Crowd, moves: Points, one: int, other: int) -> Flags:
    """(n_moments,), by shapely alone; the least is what the judge lets two share."""
    mine, theirs = outlines(crowd, moves, one), outlines(crowd, moves, other)
    out: Flags = shapely.area(shapely.intersection(mine, theirs)) > 1e-6 * HEIGHT**2
    return out


def path_of(crowd: Crowd, moves: Points, piece: int) -> Points:
    """(n_moments, 2), where the middle of a piece is."""
    out: Points = crowd.placed[:, piece, :2, 2] + crowd.in_between(moves)[:, piece]
    return out


def disc(radius: float) -> Polygon:
    """About (0, 0)."""
    return Point(0, 0).buffer(radius)
