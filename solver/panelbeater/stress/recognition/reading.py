"""Which class of things a silhouette is nearest to, frame by frame."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from panelbeater.stress.recognition.contexts import (
    context_distances,
    edge_points,
    flopped_contexts,
    shape_contexts,
)
from panelbeater.stress.recognition.moments import flopped, zernike_moments
from panelbeater.stress.recognition.silhouettes import (
    FOLDER,
    VEHICLES,
    Mask,
    Silhouette,
    fitted,
    open_silhouettes,
)
from panelbeater.terms.arrays import Floats

PERSON = "person"
DESCRIPTORS = ("Zernike moments", "shape contexts")


@dataclass(frozen=True, slots=True)
class Reading:
    """What one silhouette is taken for by one descriptor."""

    nearest: str
    """Class of the nearest open silhouette."""
    example: int
    """Its place in the bundled set."""
    lean: float
    """(d_person - d_vehicle) / (d_person + d_vehicle): 1 all vehicle, -1 all person, from
    the nearest vehicle and the nearest person."""

    @property
    def as_vehicle(self) -> bool:
        """True when the nearest class is a vehicle."""
        return self.nearest in VEHICLES

    @property
    def as_person(self) -> bool:
        """True when the nearest class is a person."""
        return self.nearest == PERSON


def read_silhouette(mask: Mask) -> dict[str, Reading]:
    """Readings by descriptor; either handedness counts. An empty mask reads as nothing."""
    if not mask.any():
        return dict.fromkeys(DESCRIPTORS, Reading("nothing", 0, 0.0))
    cell = fitted(mask)
    return {name: _reading(DISTANCES[name](cell)) for name in DESCRIPTORS}


def moment_distances(cell: Mask) -> Floats:
    """(n_silhouettes,), distance of Zernike moments to every open silhouette."""
    known = _known_moments()
    asked = zernike_moments(cell)
    both = [np.linalg.norm(known - m, axis=1) for m in (asked, flopped(asked))]
    return np.asarray(np.minimum(*both), dtype=np.float64)


def edge_distances(cell: Mask) -> Floats:
    """(n_silhouettes,), shape-context distance to every open silhouette."""
    known = _known_contexts()
    points = edge_points(cell)
    if not len(points):
        return np.ones(len(known))
    asked = shape_contexts(points)
    both = [context_distances(c, known) for c in (asked, flopped_contexts(asked))]
    return np.asarray(np.minimum(*both), dtype=np.float64)


DISTANCES: dict[str, Callable[[Mask], Floats]] = dict(
    zip(DESCRIPTORS, (moment_distances, edge_distances), strict=True)
)


def turning_frame(
    n_frames: int, lean_at: Callable[[int], float], every: int = 6
) -> tuple[dict[int, float], int | None]:
    """Lean at sampled frames, and the first frame after the last change to the person.

    Between the two samples round the change the frame is found by halving. None when the
    last frame still leans to the vehicle, or the first already to the person.
    """
    leans = {f: lean_at(f) for f in sorted({*range(0, n_frames, every), n_frames - 1})}
    frames = list(leans)
    if leans[frames[0]] <= 0 or leans[frames[-1]] > 0:
        return leans, None
    low = max(f for f in frames if leans[f] > 0)
    high = frames[frames.index(low) + 1]
    while high - low > 1:
        middle = (low + high) // 2
        leans[middle] = lean_at(middle)
        low, high = (middle, high) if leans[middle] > 0 else (low, middle)
    return dict(sorted(leans.items())), high


def hits_left_out(names: Sequence[str] = DESCRIPTORS) -> dict[str, dict[str, float]]:
    """How often each open silhouette finds its own sort among the others, by descriptor.

    Sorts: vehicle, person, and the other classes one by one. This is how far to trust it.
    """
    shown = open_silhouettes()
    sorts = [_sort(s.kind) for s in shown]
    out: dict[str, dict[str, float]] = {}
    for name in names:
        distances = DISTANCES[name]
        right: dict[str, list[bool]] = {}
        for at, silhouette in enumerate(shown):
            away = distances(silhouette.mask)
            away[at] = np.inf
            right.setdefault(sorts[at], []).append(sorts[int(away.argmin())] == sorts[at])
        out[name] = {sort: float(np.mean(hits)) for sort, hits in right.items()}
    return out


def measured_hits() -> dict[str, dict[str, float]]:
    """The same as `hits_left_out`, as measured when the set was gathered."""
    text = (FOLDER / "left_out.json").read_text(encoding="utf-8")
    found: dict[str, dict[str, float]] = json.loads(text)
    return found


def _sort(kind: str) -> str:
    return "vehicle" if kind in VEHICLES else kind


def _reading(distances: Floats) -> Reading:
    shown: tuple[Silhouette, ...] = open_silhouettes()
    vehicle = min(d for d, s in zip(distances, shown, strict=True) if s.kind in VEHICLES)
    person = min(d for d, s in zip(distances, shown, strict=True) if s.kind == PERSON)
    at = int(distances.argmin())
    total = max(float(vehicle + person), 1e-12)
    return Reading(shown[at].kind, at, float(person - vehicle) / total)


@cache
def _known_moments() -> Floats:
    return np.array([zernike_moments(s.mask) for s in open_silhouettes()])


@cache
def _known_contexts() -> Floats:
    known = np.array([shape_contexts(edge_points(s.mask)) for s in open_silhouettes()])
    # Shares of 47 neighbours: single precision is plenty, and twice as fast; bin by bin in
    # memory, because they are asked for by bin.
    by_bin = np.ascontiguousarray(np.moveaxis(known, -1, 0), dtype=np.float32)
    return np.asarray(by_bin.transpose(1, 2, 0))
