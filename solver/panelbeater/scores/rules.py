"""The rules of the assignment, judged in plain Python on the finished plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import shapely

from panelbeater.scores.limits import STANDARD, Limits
from panelbeater.scores.placed import Placed, Shape, mirror_region, mismatch, stem

_MUST = ("each piece once", "pins", "bans")


@dataclass(frozen=True, slots=True)
class RuleBreak:
    """One rule that a plan does not keep."""

    rule: str
    pieces: tuple[str, ...]
    detail: str

    @property
    def must(self) -> bool:
        """True when no plan may break it; False when it is a wish worth reporting."""
        return self.rule in _MUST

    @property
    def told(self) -> str:
        """In one line; unlike twins by their limbs, all they wear would be a long list."""
        who = "" if self.rule == "twin limbs" else f"{', '.join(self.pieces)}: "
        return f"{self.rule}: {who}{self.detail}"


def judge_rules(
    placed: Sequence[Placed],
    pieces: Iterable[str],
    *,
    habits: Mapping[str, Iterable[str]] | None = None,
    regions: Mapping[str, Shape] | None = None,
    wanted: Mapping[str, float] | None = None,
    limits: Limits = STANDARD,
) -> tuple[RuleBreak, ...]:
    """All rules on one plan; `pieces` are the ids of the drawing. Empty when all are kept.

    Must be kept: each piece once, pins, bans. The others are wishes, each reported once.

    habits : kind to the regions it belongs on (without side), common practice with no
    source. regions, wanted : outlines of regions, and the least cover asked for.
    """
    return (
        *each_piece_once(placed, pieces),
        *pins_kept(placed),
        *bans_kept(placed),
        *mirror_pairs_answer(placed),
        *mirror_pairs_of_one_size(placed, limits),
        *habits_kept(placed, habits or {}),
        *twins_alike(placed, limits),
        *order_kept(placed, limits),
        *wanted_cover(placed, regions or {}, wanted or {}),
        *stowed_as_allowed(placed),
    )


def each_piece_once(placed: Sequence[Placed], pieces: Iterable[str]) -> list[RuleBreak]:
    """Every piece of the drawing covers exactly one region, and no other piece is there."""
    count = Counter(cover.piece for cover in placed)
    asked = set(pieces)
    out = []
    for piece in sorted(asked | set(count)):
        if piece not in asked:
            out.append(RuleBreak("each piece once", (piece,), "is not in the drawing"))
        elif count[piece] != 1:
            detail = f"is placed {count[piece]} times"
            out.append(RuleBreak("each piece once", (piece,), detail))
    return out


def pins_kept(placed: Sequence[Placed]) -> list[RuleBreak]:
    """A pinned piece covers the region it is pinned to."""
    return [
        RuleBreak("pins", (cover.piece,), f"covers {cover.region}, pinned to {cover.pin}")
        for cover in placed
        if cover.pin is not None and cover.region != cover.pin
    ]


def bans_kept(placed: Sequence[Placed]) -> list[RuleBreak]:
    """No piece covers a region it is banned from."""
    return [
        RuleBreak("bans", (cover.piece,), f"covers {cover.region}, which is ruled out")
        for cover in placed
        if cover.region in cover.bans
    ]


def mirror_pairs_answer(placed: Sequence[Placed]) -> list[RuleBreak]:
    """Two pieces of a mirror pair cover regions that answer each other left and right."""
    region_of = {cover.piece: cover.region for cover in placed}
    pairs = set()
    for cover in placed:
        if cover.mirror in region_of and cover.mirror != cover.piece:
            pairs.add(tuple(sorted((cover.piece, cover.mirror))))
    return [
        RuleBreak("mirror pairs", pair, f"cover {region_of[pair[0]]} and "
                  f"{region_of[pair[1]]}, which do not answer each other")
        for pair in sorted(pairs)
        if mirror_region(region_of[pair[0]]) != region_of[pair[1]]
    ]  # fmt: skip


def mirror_pairs_of_one_size(placed: Sequence[Placed], limits: Limits) -> list[RuleBreak]:
    """Two pieces of a mirror pair that answer each other are drawn at one scale."""
    by_id = {cover.piece: cover for cover in placed}
    out = []
    for cover in placed:
        other = by_id.get(cover.mirror or "")
        if other is None or cover.piece >= other.piece:
            continue
        answered = mirror_region(cover.region) == other.region
        if answered and abs(cover.scale - other.scale) > limits.one_size:
            detail = f"are {cover.scale:.2f} and {other.scale:.2f} of their drawn size"
            out.append(RuleBreak("mirror sizes", (cover.piece, other.piece), detail))
    return out


def habits_kept(
    placed: Sequence[Placed], habits: Mapping[str, Iterable[str]]
) -> list[RuleBreak]:
    """At least half of each kind lies where the trade would look for it."""
    out = []
    for kind, regions in sorted(habits.items()):
        wanted = sorted(regions)
        mine = [cover for cover in placed if cover.kind == kind and not cover.pin]
        astray = [cover for cover in mine if stem(cover.region) not in wanted]
        if wanted and 2 * len(astray) > len(mine):
            where = ", ".join(f"{cover.piece} on {cover.region}" for cover in astray)
            detail = f"a {kind} belongs on {' or '.join(wanted)}; {where}"
            out.append(RuleBreak("habits", tuple(c.piece for c in astray), detail))
    return out


def twins_alike(placed: Sequence[Placed], limits: Limits) -> list[RuleBreak]:
    """Left and right of a limb wear like pieces: the same kinds in the same paints."""
    unlike = {}
    for left in sorted({c.region for c in placed if c.region.endswith("_l")}):
        both = [
            c for c in placed if c.region in (left, mirror_region(left)) and not c.stowed
        ]
        total = sum(cover.area for cover in both)
        if total and mismatch(both, limits.one_paint) > limits.twins_unlike * total:
            unlike[f"{left} and {mirror_region(left)}"] = [cover.piece for cover in both]
    if not unlike:
        return []
    pieces = tuple(piece for both in unlike.values() for piece in both)
    return [RuleBreak("twin limbs", pieces, f"{', '.join(unlike)} wear unlike pieces")]


def order_kept(placed: Sequence[Placed], limits: Limits) -> list[RuleBreak]:
    """What sat on a panel does not end under it: a lamp, a window, a handle."""
    seen = [c for c in placed if c.drawn and c.laid and not c.stowed]
    out = []
    for one, other in combinations(seen, 2):
        under, over = sorted((one, other), key=lambda cover: cover.drawn_depth)
        if one.region != other.region or over.depth > under.depth:
            continue
        sat = _common(over.drawn, under.drawn) >= limits.sits * _area(over.drawn)
        if sat and _common(over.laid, under.laid) > limits.order_shows * _area(over.laid):
            detail = f"sat on {under.piece} and ends under it on {under.region}"
            out.append(RuleBreak("what lies over what", (over.piece, under.piece), detail))
    return out


def wanted_cover(
    placed: Sequence[Placed], regions: Mapping[str, Shape], wanted: Mapping[str, float]
) -> list[RuleBreak]:
    """Every region the animator gave a least cover has it."""
    out = []
    for region, least in sorted(wanted.items()):
        mine = [c for c in placed if c.region == region and c.laid and not c.stowed]
        worn = shapely.union_all([cover.laid for cover in mine])
        have = _common(worn, regions[region]) / regions[region].area
        # The figures are given in whole percent.
        if have < least - 0.005:
            names = tuple(cover.piece for cover in mine)
            detail = f"{region} is covered {have:.0%}, asked for {least:.0%}"
            out.append(RuleBreak("wanted cover", names, detail))
    return out


def stowed_as_allowed(placed: Sequence[Placed]) -> list[RuleBreak]:
    """A piece is hidden away only where the animator allowed it, or nothing else fits."""
    return [
        RuleBreak("stowed", (cover.piece,), "ends hidden: it fits nowhere on the robot")
        for cover in placed
        if cover.stowed and not cover.may_stow
    ]


def _common(one: Shape | None, other: Shape | None) -> float:
    return float(one.intersection(other).area) if one and other else 0.0


def _area(shape: Shape | None) -> float:
    return float(shape.area) if shape else 0.0
