"""Two or more plans side by side: one table, one picture, and what changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from panelbeater.errors import DrawingError
from panelbeater.flashing import flash_of
from panelbeater.scores import FlashCount, FlashReport, Promise, Score
from panelbeater.stress import html
from panelbeater.stress.case import Case, open_case

SAME = 1e-6
"""Relative difference below which two figures are the same."""


@dataclass(frozen=True, slots=True)
class Difference:
    """One figure in every plan; None where a plan has no such figure."""

    name: str
    unit: str
    values: tuple[float | None, ...]
    better: tuple[bool | None, ...]
    """Against the first plan: True nearer its target, False farther, None neither."""

    def steps(self) -> list[str]:
        """Each plan's difference from the first, signed; empty where there is none."""
        first = self.values[0]
        return [
            "" if value is None or first is None or _alike(first, value)
            else f"{value - first:+.3g}"
            for value in self.values
        ]  # fmt: skip

    @property
    def changed(self) -> bool:
        """True when any plan differs from the first."""
        first = self.values[0]
        return any(not _alike(first, value) for value in self.values[1:])


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """Plans in the order given, and every figure across them."""

    names: tuple[str, ...]
    cases: tuple[Case, ...]
    flashes: tuple[FlashReport, ...]
    """What the flash meter says of each."""
    promises: tuple[Difference, ...]
    scores: tuple[Difference, ...]
    moved: tuple[tuple[str, tuple[str, ...]], ...]
    """Pieces that cover another region in some plan: piece, then its region in each; `-`
    where the plan has no such piece."""

    def lines(self) -> list[str]:
        """What differs, as text, plan by plan in each line; what counts comes first."""
        out = [f"plans: {', '.join(self.names)}"]
        both = (*self.promises, *self.scores)
        for item in sorted(both, key=lambda d: all(b is None for b in d.better)):
            if item.changed:
                told = ["-" if v is None else html.short(v) for v in item.values]
                marks = ["", *(_WORDS[b] for b in item.better[1:])]
                cells = [
                    " ".join(part for part in (value, step, mark) if part)
                    for value, step, mark in zip(told, item.steps(), marks, strict=True)
                ]
                out.append(f"{item.name}: {' | '.join(cells)}")
        out += [f"{piece} covers: {' | '.join(regions)}" for piece, regions in self.moved]
        if len(out) == 1:
            out.append("no promise, score or cover differs")
        return out


def compare_plans(outs: Sequence[Path]) -> Comparison:
    """Judge every plan afresh and set the figures side by side.

    Raises DrawingError for fewer than two plans or an unreadable one.
    """
    if len(outs) < 2:
        raise DrawingError("give at least two folders to compare")
    cases = tuple(open_case(out) for out in outs)
    promises = [{p.name: p for p in c.scores.promises} for c in cases]
    scores = [{s.name: s for s in (*c.scores.layout, *c.scores.motion)} for c in cases]
    flashes = tuple(flash_of(case.plan) for case in cases)
    turns = [worst_of(flash).turns for flash in flashes]
    return Comparison(
        _names(outs),
        cases,
        flashes,
        tuple(
            _promise_row(n, [row.get(n) for row in promises]) for n in _all_names(promises)
        ),
        (
            *(_score_row(n, [row.get(n) for row in scores]) for n in _all_names(scores)),
            _less_is_better("changes of light in a second", [float(t) for t in turns]),
        ),
        _moved(cases),
    )


def comparison_json(comparison: Comparison) -> dict[str, Any]:
    """Every figure of every plan as plain values."""
    return {
        "format": "panelbeater-compare",
        "version": 1,
        "plans": list(comparison.names),
        **{
            part: [
                {
                    "name": d.name,
                    "unit": d.unit,
                    "values": list(d.values),
                    "better_than_first": list(d.better),
                    "changed": d.changed,
                }
                for d in rows
            ]
            for part, rows in (
                ("promises", comparison.promises),
                ("scores", comparison.scores),
            )
        },
        "covers_changed": {piece: list(regions) for piece, regions in comparison.moved},
    }


def _alike(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return bool(np.isclose(one, other, rtol=SAME, atol=1e-12))


def _promise_row(name: str, found: list[Promise | None]) -> Difference:
    """Better or worse only where one is kept and the other broken."""
    values = tuple(None if p is None else float(p.value) for p in found)
    first = found[0]
    better = tuple(
        None if first is None or p is None or p.kept == first.kept else p.kept
        for p in found
    )
    return Difference(name, "", values, better)


def _less_is_better(name: str, values: list[float | None]) -> Difference:
    better = tuple(_less(values[0], value) for value in values)
    return Difference(name, "", tuple(values), better)


def worst_of(flash: FlashReport) -> FlashCount:
    """The sort of flashing with more changes in a second."""
    return max(flash.general, flash.red, key=lambda count: count.turns)


def _less(first: float | None, value: float | None) -> bool | None:
    if first is None or value is None or _alike(first, value):
        return None
    return value < first


def _score_row(name: str, found: list[Score | None]) -> Difference:
    values = tuple(None if s is None else s.value for s in found)
    unit = next((s.unit for s in found if s is not None), "")
    first = found[0]
    better = tuple(None if first is None or s is None else _nearer(first, s) for s in found)
    return Difference(name, unit, values, better)


def _nearer(first: Score, other: Score) -> bool | None:
    """Nearer the first plan's target; None when both meet it or there is none."""
    if first.target is None or _alike(first.value, other.value):
        return None
    one, two = first.target.miss(first.value), first.target.miss(other.value)
    return None if _alike(one, two) else two < one


def _names(outs: Sequence[Path]) -> tuple[str, ...]:
    """Shortest folder names that tell the plans apart."""
    short = [out.resolve().name for out in outs]
    if len(set(short)) == len(short):
        return tuple(short)
    return tuple(
        f"{out.resolve().parent.name}/{name}" for out, name in zip(outs, short, strict=True)
    )


def _all_names(rows: Sequence[dict[str, Any]]) -> list[str]:
    return list(dict.fromkeys(name for row in rows for name in row))


def _moved(cases: Sequence[Case]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    covers = [{c.piece: c.region for c in case.plan.assignment.covers} for case in cases]
    found = ((n, tuple(row.get(n, "-") for row in covers)) for n in _all_names(covers))
    return tuple((name, regions) for name, regions in found if len(set(regions)) > 1)


_WORDS = {None: "", True: "(better)", False: "(worse)"}
