"""The rules of the assignment, judged in plain Python on the finished plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

_ANSWERS = {"l": "r", "r": "l"}
_MUST = ("each piece once", "pins", "bans")
_WHEEL_REGIONS = ("foot", "shank")


@dataclass(frozen=True, slots=True)
class Placed:
    """One piece of the finished plan and what was asked of it."""

    piece: str
    region: str
    kind: str = "other"
    mirror: str | None = None
    """Id of the piece that answers this one."""
    pin: str | None = None
    """Region the animator insists on."""
    bans: tuple[str, ...] = ()
    """Regions the animator rules out."""


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


def judge_rules(placed: Sequence[Placed], pieces: Iterable[str]) -> tuple[RuleBreak, ...]:
    """All rules on one plan; `pieces` are the ids of the drawing. Empty when all are kept.

    Must be kept: each piece once, pins, bans. Reported: mirror pairs on mirror regions,
    wheels on ankle or heel (foot or shank; common practice with no source).
    """
    return (
        *each_piece_once(placed, pieces),
        *pins_kept(placed),
        *bans_kept(placed),
        *mirror_pairs_answer(placed),
        *wheels_at_the_ankle(placed),
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


def wheels_at_the_ankle(placed: Sequence[Placed]) -> list[RuleBreak]:
    """Wheels cover a foot or a shank."""
    return [
        RuleBreak("wheels", (cover.piece,), f"covers {cover.region}, not foot or shank")
        for cover in placed
        if cover.kind == "wheel" and cover.region.rsplit("_", 1)[0] not in _WHEEL_REGIONS
    ]


def mirror_region(region: str) -> str:
    """The region on the other side: `foot_r` for `foot_l`; a middle one answers itself."""
    stem, _, side = region.rpartition("_")
    return f"{stem}_{_ANSWERS[side]}" if stem and side in _ANSWERS else region
