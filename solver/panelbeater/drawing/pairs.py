"""Which pieces answer each other, and by which ones the vehicle is recognised."""

from __future__ import annotations

import re
from itertools import combinations

import numpy as np
import shapely

from panelbeater.geometry.overlay import shared_areas
from panelbeater.terms.arrays import Floats, Points
from panelbeater.terms.drawing import Kind, Shape

ALIKE = 0.85
"""Least ratio of areas, and least overlap once centred, of two pieces that answer each
other: wheels of one lorry reach 0.99, door and side window stay below 0.7."""
SAME_BOX = 0.7
"""Least ratio of widths and of heights; an overlap of 0.85 never comes with less."""
MOST_PAIRED = 120
"""Only this many of the largest pieces are compared: rivets need no partner."""
MOST_SIGNATURES = 5


_PLACES = (
    "front", "rear", "back", "left", "right", "upper", "lower", "top", "bottom", "middle",
)  # fmt: skip


def likenesses(outlines: list[Shape], pairs: list[tuple[int, int]]) -> Floats:
    """(n_pairs,), IoU of two outlines laid on one centre, the second flipped where that is
    better.
    """
    centred = [shapely.transform(o, lambda xy, o=o: xy - _centre(o)) for o in outlines]
    flipped = [shapely.transform(o, lambda xy: xy * (-1.0, 1.0)) for o in centred]
    plain, turned = np.array(centred, dtype=object), np.array(flipped, dtype=object)
    one, other = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
    common = np.maximum(
        shared_areas(plain[one], plain[other]), shared_areas(plain[one], turned[other])
    )
    areas = shapely.area(plain)
    ratio: Floats = common / (areas[one] + areas[other] - common)
    return ratio


def _centre(outline: Shape) -> Points:
    return np.array([outline.centroid.x, outline.centroid.y])


def _stem(name: str) -> str:
    """A name without numbers and places: the wheel in front_wheel and rear_wheel_2."""
    words = re.findall(r"[a-z]+", name.lower())
    return " ".join(word for word in words if word not in _PLACES and len(word) > 1)


def mirror_pairs(
    kinds: list[Kind], outlines: list[Shape], names: list[str]
) -> dict[int, int]:
    """Index of the piece that answers each one, both ways; only reciprocal best matches.

    `names` are as given in the drawing, empty where there is none. Wheels answer wheels; of
    other pieces only those called alike do, and nameless ones among themselves.
    """
    scores: dict[int, list[tuple[float, int]]] = {k: [] for k in range(len(kinds))}
    boxes = np.array([outline.bounds for outline in outlines]).reshape(-1, 4)
    areas = np.array([outline.area for outline in outlines])
    sizes = np.column_stack([areas, boxes[:, 2:] - boxes[:, :2]])  # (n_pieces, 3)
    stems = [_stem(name) for name in names]
    floor = np.array([ALIKE, SAME_BOX, SAME_BOX])
    large = sorted(range(len(kinds)), key=lambda k: (-areas[k], k))[:MOST_PAIRED]
    alike: list[tuple[int, int]] = []
    for i, j in combinations(sorted(large), 2):
        # Outlines that overlap that much have areas and boxes alike: skip the rest early.
        if kinds[i] != "wheel" and stems[i] != stems[j]:
            continue
        if kinds[i] != kinds[j] or np.any(sizes[i] < sizes[j] * floor):
            continue
        if np.any(sizes[j] < sizes[i] * floor):
            continue
        alike.append((i, j))
    for (i, j), found in zip(alike, likenesses(outlines, alike), strict=True):
        score = float(found)
        if score > ALIKE:
            # Rounded, so that equal wheels pair by place and not by the last bit.
            scores[i].append((round(score, 2), j))
            scores[j].append((round(score, 2), i))
    return _reciprocal(scores, outlines)


def _reciprocal(
    scores: dict[int, list[tuple[float, int]]], outlines: list[Shape]
) -> dict[int, int]:
    """Take mutual favourites until none are left; among equals the farther apart."""
    pairs: dict[int, int] = {}
    centres = [outline.centroid for outline in outlines]
    while True:
        favourite: dict[int, int] = {}
        for k, found in scores.items():
            free = [
                (score, round(centres[k].distance(centres[other]), 6), -other)
                for score, other in found
                if other not in pairs
            ]
            if k not in pairs and free:
                favourite[k] = -max(free)[2]
        mutual = [(k, other) for k, other in favourite.items() if favourite.get(other) == k]
        if not mutual:
            return pairs
        pairs.update(mutual)


def signature_pieces(
    kinds: list[Kind], outlines: list[Shape], names: list[str]
) -> frozenset[int]:
    """Indices of wheels, windscreen and headlamp; at most five.

    Where nothing is called so, the largest window and lamp stand in.
    """
    faces = [re.search(r"wind(screen|shield)|head_?-?l", name.lower()) for name in names]

    def of_kind(kind: Kind) -> list[int]:
        found = [k for k in range(len(kinds)) if kinds[k] == kind]
        return sorted(found, key=lambda k: (not faces[k], -outlines[k].area, k))

    wheels = of_kind("wheel")
    if len(wheels) > MOST_SIGNATURES - 2:
        # The outermost wheels set the stance; of those in between the largest stays.
        ends = sorted(wheels, key=lambda k: outlines[k].centroid.x)
        chosen = [ends[0], ends[-1]]
        wheels = chosen + [k for k in wheels if k not in chosen][:1]
    return frozenset(wheels + of_kind("window")[:1] + of_kind("lamp")[:1])
