"""Two or more plans side by side: one table, one picture, and what changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any

import numpy as np

from panelbeater.errors import DrawingError
from panelbeater.exports import export_json, write_whole
from panelbeater.flashing import flash_of
from panelbeater.scores import Score
from panelbeater.stress import html, words
from panelbeater.stress.case import Case, open_case
from panelbeater.stress.pictures import Stills

BETTER = ' <span class="up">\u25b2 better</span>'
WORSE = ' <span class="down">\u25bc worse</span>'
FILM = 7
"""Stills of each plan, at equal shares of its own length."""
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
    promises: tuple[Difference, ...]
    scores: tuple[Difference, ...]
    moved: tuple[tuple[str, tuple[str, ...]], ...]
    """Pieces that cover another region in some plan: piece, then its region in each; `-`
    where the plan has no such piece."""

    def lines(self) -> list[str]:
        """What differs, as plain text, plan by plan in each line."""
        out = [f"plans: {', '.join(self.names)}"]
        for item in (*self.promises, *self.scores):
            if item.changed:
                told = ["-" if v is None else html.short(v) for v in item.values]
                marks = ["", *(_WORDS[b] for b in item.better[1:])]
                cells = [f"{v} {m}".strip() for v, m in zip(told, marks, strict=True)]
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
    promises = [{p.name: float(p.value) for p in c.scores.promises} for c in cases]
    scores = [{s.name: s for s in (*c.scores.layout, *c.scores.motion)} for c in cases]
    return Comparison(
        _names(outs),
        cases,
        tuple(
            Difference(
                n,
                "",
                tuple(row.get(n) for row in promises),
                tuple(_less(promises[0].get(n), row.get(n)) for row in promises),
            )
            for n in _all_names(promises)
        ),
        tuple(_score_row(n, [row.get(n) for row in scores]) for n in _all_names(scores)),
        _moved(cases),
    )


def write_comparison(comparison: Comparison, out: Path) -> tuple[Path, Path]:
    """Write compare.html and compare.json into a folder; gives both paths."""
    films = "".join(
        f'<div class="name">{escape(name)}<small>{case.plan.rig.shot.n_frames} frames, '
        f"{len(case.plan.rig.drawing.pieces)} pieces</small></div>{_film(case)}"
        for name, case in zip(comparison.names, comparison.cases, strict=True)
    )
    body = (
        html.section(
            "Side by side",
            "Each shot at equal shares of its own length.",
            f'<div class="strips">{films}</div>',
        )
        + html.section(
            "Every figure",
            "Differences are against the first plan; an arrow up is nearer the "
            "target, an arrow down farther from it.",
            _figures(comparison),
        )
        + _covers(comparison)
    )
    failing = [c for c in comparison.cases if flash_of(c.plan).fails]
    shown = failing[0] if failing else comparison.cases[0]
    changed = sum(d.changed for d in (*comparison.promises, *comparison.scores))
    text = html.page(
        title=f"{len(comparison.names)} plans compared",
        verdict=f"{changed} figures differ. {escape(_best(comparison))}",
        caution=words.caution(flash_of(shown.plan)),
        body=body,
        foot="",
    )
    page, values = out / "compare.html", out / "compare.json"
    write_whole(page, [text.encode()])
    export_json(comparison_json(comparison), values)
    return page, values


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


def _film(case: Case) -> str:
    stills = Stills(case.plan)
    frames = [round(f) for f in np.linspace(0, case.plan.rig.shot.n_frames - 1, FILM)]
    return (
        '<div class="film">'
        + "".join(
            html.figure(stills.still(f, 190), f"frame {f + 1}", str(f + 1)) for f in frames
        )
        + "</div>"
    )


def _figures(comparison: Comparison) -> str:
    """What differs stands open; what is the same folds away."""
    head = ("figure", *comparison.names)
    both = (*comparison.promises, *comparison.scores)
    changed = [_row(item) for item in both if item.changed]
    same = [_row(item) for item in both if not item.changed]
    return (
        html.table(head, changed)
        + f"<details><summary>The same in all ({len(same)})</summary>"
        + html.table(head, same)
        + "</details>"
    )


def _row(item: Difference) -> str:
    cells = []
    for value, better in zip(item.values, item.better, strict=True):
        mark = "" if better is None else BETTER if better else WORSE
        told = "\u2013" if value is None else html.short(value)
        cells.append(f"<td>{told}{mark}</td>")
    return f'<tr><th scope="row">{escape(item.name)}</th>{"".join(cells)}</tr>'


def _covers(comparison: Comparison) -> str:
    if not comparison.moved:
        return ""
    rows = [
        f'<tr><th scope="row">{escape(piece)}</th>'
        + "".join(f"<td>{escape(region)}</td>" for region in regions)
        + "</tr>"
        for piece, regions in comparison.moved
    ]
    return html.section(
        "Who covers what",
        "Only pieces that land elsewhere.",
        html.table(("piece", *comparison.names), rows),
    )


def _best(comparison: Comparison) -> str:
    """Which plan meets most targets."""
    hits = [
        sum(
            s.on_target
            for s in (*c.scores.layout, *c.scores.motion)
            if s.target is not None
        )
        - 100 * sum(not p.kept for p in c.scores.promises)
        for c in comparison.cases
    ]
    best = [n for n, hit in zip(comparison.names, hits, strict=True) if hit == max(hits)]
    if len(best) == len(hits):
        return "All of them meet equally many targets."
    return f"{' and '.join(best)} meets most targets with fewest promises broken."
