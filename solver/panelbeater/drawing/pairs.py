"""Which pieces answer each other, and by which ones the vehicle is recognised."""

from __future__ import annotations

from itertools import combinations

from shapely import affinity

from panelbeater.terms.drawing import Kind, Shape

ALIKE = 0.85
"""Least ratio of areas, and least overlap once centred, of two pieces that answer each
other: front and rear wheels of one lorry reach 0.99, door and side window stay below 0.7."""
MOST_SIGNATURES = 5


def likeness(a: Shape, b: Shape) -> float:
    """IoU of two outlines laid on one centre, the second one flipped where that is better."""
    middle = a.centroid
    best = 0.0
    for flip in (1.0, -1.0):
        turned = affinity.scale(b, flip, 1.0, origin="centroid")
        centre = turned.centroid
        laid = affinity.translate(turned, middle.x - centre.x, middle.y - centre.y)
        shared = a.intersection(laid).area
        best = max(best, shared / (a.area + laid.area - shared))
    return best


def mirror_pairs(kinds: list[Kind], outlines: list[Shape]) -> dict[int, int]:
    """Index of the piece that answers each one, both ways; only reciprocal best matches."""
    scores: dict[int, list[tuple[float, int]]] = {k: [] for k in range(len(kinds))}
    for i, j in combinations(range(len(kinds)), 2):
        small, large = sorted((outlines[i].area, outlines[j].area))
        if kinds[i] != kinds[j] or small < ALIKE * large:
            continue
        score = likeness(outlines[i], outlines[j])
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


def signature_pieces(kinds: list[Kind], outlines: list[Shape]) -> frozenset[int]:
    """Indices of wheels, windscreen (largest window) and largest lamp; at most five."""

    def of_kind(kind: Kind) -> list[int]:
        found = [k for k in range(len(kinds)) if kinds[k] == kind]
        return sorted(found, key=lambda k: (-outlines[k].area, outlines[k].centroid.x, k))

    wheels = of_kind("wheel")
    if len(wheels) > MOST_SIGNATURES - 2:
        # The outermost wheels set the stance; of those in between the largest stays.
        ends = sorted(wheels, key=lambda k: outlines[k].centroid.x)
        chosen = [ends[0], ends[-1]]
        wheels = chosen + [k for k in wheels if k not in chosen][:1]
    return frozenset(wheels + of_kind("window")[:1] + of_kind("lamp")[:1])
