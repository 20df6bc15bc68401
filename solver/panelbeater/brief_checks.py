"""What a brief's tables may say: pins and bans, habits and cover, the judge's limits."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields, replace
from pathlib import Path

from panelbeater.assignment import HABITS
from panelbeater.errors import DrawingError
from panelbeater.scores import STANDARD, Limits
from panelbeater.terms.assignment import Asked
from panelbeater.terms.figure import BONE_IDS, without_side

_STEMS = tuple(dict.fromkeys(without_side(name) for name in BONE_IDS))
_MOST_WORTH = 1.0
"""Of the figure: a habit worth more would beat everything else together."""


def line_of(text: str, where: list[str]) -> int | None:
    """Line (from 1) of a key, looking inside its table first."""
    lines = text.splitlines()
    start = 0
    if len(where) > 1:
        table = re.compile(
            rf"\s*\[\s*{re.escape(where[0])}\s*\]|\s*{re.escape(where[0])}\s*="
        )
        start = next((n for n, line in enumerate(lines) if table.match(line)), 0)
    key = re.compile(
        rf"(^|[\s{{,])[\"']?{re.escape(where[min(1, len(where) - 1)])}[\"']?\s*="
    )
    for number, line in enumerate(lines[start:], start + 1):
        if key.search(line):
            return number
    return None


def changed_limits(path: Path, text: str, given: Mapping[str, float]) -> Limits:
    """The judge's thresholds with the brief's own on top."""
    known = {f.name: type(getattr(STANDARD, f.name)) for f in fields(Limits)}
    problems = []
    for name, value in given.items():
        place = f"{path.name}:{line_of(text, ['limits', name]) or '?'}"
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            hint = f"did you mean {near[0]!r}?" if near else f"known: {', '.join(known)}"
            problems.append(f"{place}: limits: no threshold {name!r}; {hint}")
        elif not 0 <= value <= 1e6 or (known[name] is int and value != int(value)):
            kind = "a whole number" if known[name] is int else "a number"
            problems.append(
                f"{place}: limits: {name} = {value:g}: give {kind} of at least 0"
            )
    if problems:
        raise DrawingError("\n".join(problems))
    return replace(STANDARD, **{k: known[k](v) for k, v in given.items()})


def check_wishes(
    path: Path, text: str, pins: Mapping[str, str], bans: Mapping[str, Iterable[str]]
) -> None:
    """Raise DrawingError where a pin or a ban names no region, or they contradict."""
    problems = []
    for table, piece, region in (
        *(("pin", piece, region) for piece, region in pins.items()),
        *(("ban", piece, region) for piece, regions in bans.items() for region in regions),
    ):
        place = f"{path.name}:{line_of(text, [table, piece]) or '?'}"
        if region not in BONE_IDS:
            near = difflib.get_close_matches(region, BONE_IDS, n=1)
            hint = (
                f"did you mean {near[0]!r}?" if near else f"regions: {', '.join(BONE_IDS)}"
            )
            problems.append(
                f"{place}: {table}: piece {piece!r} names no region {region!r}; {hint}"
            )
        elif table == "pin" and region in bans.get(piece, ()):
            problems.append(
                f"{place}: piece {piece!r} is pinned to {region} and banned from it; "
                "drop one"
            )
    if problems:
        raise DrawingError("\n".join(problems))


def asked_of(
    path: Path,
    text: str,
    cover: Mapping[str, float],
    habits: Mapping[str, Mapping[str, float]],
    clear: Mapping[str, Sequence[str]],
) -> Asked:
    """Least cover by region and habits by sort; a region without side speaks for both. And
    what pieces go round on their way, by piece.

    Raises DrawingError with one line per problem.
    """
    problems = [
        *_out_of_range(path, text, "cover", cover, (*BONE_IDS, *_STEMS), (0.0, 1.0)),
        *_unknown(path, text, "habits", habits, HABITS),
    ]
    for sort, regions in habits.items():
        table, known = f"habits.{sort}", (-_MOST_WORTH, _MOST_WORTH)
        problems += _out_of_range(path, text, table, regions, _STEMS, known)
    problems += [
        f"{path.name}:{line_of(text, ['clear', piece]) or '?'}: clear: piece {piece!r} "
        "cannot go round itself; name another"
        for piece, others in clear.items()
        if piece in others
    ]
    if problems:
        raise DrawingError("\n".join(problems))
    least = {
        region: share
        for name, share in cover.items()
        for region in BONE_IDS
        if region == name or without_side(region) == name
    }
    least.update({name: share for name, share in cover.items() if name in BONE_IDS})
    return Asked(least, habits, {k: tuple(dict.fromkeys(v)) for k, v in clear.items()})


def _unknown(
    path: Path, text: str, table: str, given: Iterable[str], known: Iterable[str]
) -> Iterator[str]:
    names = tuple(known)
    for name in given:
        if name not in names:
            near = difflib.get_close_matches(name, names, n=1)
            hint = f"did you mean {near[0]!r}?" if near else f"known: {', '.join(names)}"
            place = f"{path.name}:{line_of(text, [table, name]) or '?'}"
            yield f"{place}: {table}: no {name!r}; {hint}"


def _out_of_range(
    path: Path,
    text: str,
    table: str,
    given: Mapping[str, float],
    known: Iterable[str],
    ends: tuple[float, float],
) -> Iterator[str]:
    names = tuple(known)
    yield from _unknown(path, text, table, given, names)
    low, high = ends
    for name, value in given.items():
        if name in names and not low <= value <= high:
            place = f"{path.name}:{line_of(text, [table, name]) or '?'}"
            yield f"{place}: {table}: {name} = {value:g}: give {low:g} to {high:g}"
