"""The page that sets plans side by side: films, figures, and what lands elsewhere."""

from __future__ import annotations

from html import escape
from pathlib import Path

import numpy as np

from panelbeater.exports import export_json, write_whole
from panelbeater.stress import html, words
from panelbeater.stress.case import Case
from panelbeater.stress.compare import Comparison, Difference, comparison_json, worst_of
from panelbeater.stress.pictures import Stills

BETTER = ' <span class="up">\u25b2 better</span>'
WORSE = ' <span class="down">\u25bc worse</span>'
FILM = 7
"""Stills of each plan, at equal shares of its own length."""


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
    changed = sum(d.changed for d in (*comparison.promises, *comparison.scores))
    text = html.page(
        title=f"{len(comparison.names)} plans compared",
        verdict=f"{changed} figures differ. {escape(_best(comparison))}",
        caution=words.caution(
            max(comparison.flashes, key=lambda flash: worst_of(flash).turns)
        ),
        body=body,
        foot="",
    )
    page, values = out / "compare.html", out / "compare.json"
    write_whole(page, [text.encode()])
    export_json(comparison_json(comparison), values)
    return page, values


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
    for value, step, better in zip(item.values, item.steps(), item.better, strict=True):
        mark = "" if better is None else BETTER if better else WORSE
        told = "\u2013" if value is None else html.short(value)
        cells.append(f"<td>{told}{f' <small>{step}</small>' if step else ''}{mark}</td>")
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
