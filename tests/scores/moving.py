"""Motions made up for the certificate: pieces over one bone, each a function of time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from shapely import box

from panelbeater.scores.between import Allowed, certify
from panelbeater.scores.result import Between
from panelbeater.terms.arrays import Flags, Floats, Ints
from panelbeater.terms.drawing import Shape

ALLOWED = Allowed(
    body_contact=0.01, piece_contact=0.01, floor=1e3, clash_area=1e-12,
    pop=1e-4, slide=0.05, sole=0.01,
)  # fmt: skip
MOMENT = 2.0**-10
PLATE = box(-9, -9, 9, 9)
"""A body under everything: no test piece floats unless it should."""


@dataclass(frozen=True)
class Moving:
    """Pieces at one depth over one still bone; each moves at no more than its speed."""

    looks: tuple[Callable[[float], Shape], ...]
    speeds: tuple[float, ...]
    body: Shape = PLATE
    n_frames: int = 2

    def shapes(self, times: Floats, _: Ints) -> list[list[Shape]]:
        return [[*(look(t) for look in self.looks), self.body] for t in times.tolist()]

    def visible(self) -> Flags:
        return np.ones((self.n_frames, len(self.looks)), dtype=np.bool_)

    def depth(self) -> Ints:
        return np.zeros((self.n_frames, len(self.looks)), dtype=np.int64)

    def travel(self, start: Floats, stop: Floats) -> Floats:
        speeds = np.array([*self.speeds, 0.0])
        ways: Floats = ((stop - start)[:, None] * speeds)[..., None]
        return ways


def verdict(moving: Moving, allowed: Allowed = ALLOWED) -> Between:
    names = [f"piece{i}" for i in range(len(moving.looks))]
    return certify(moving, names, ["torso"], allowed)


def first_time(found: Between, promise: str) -> float:
    ((name, place),) = found.broken
    assert name == promise
    return place.frames[0]
