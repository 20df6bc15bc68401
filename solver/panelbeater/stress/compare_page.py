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
from panelbeater.stress.plain import say, say_bone

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
            "What is better and what is worse",
            "Differences are against the first plan; an arrow up is nearer the "
            "target, an arrow down farther from it.",
            _figures(comparison),
        )
        + _covers(comparison)
    )
    text = html.page(
        title=f"{len(comparison.names)} plans compared",
        verdict=escape(_best(comparison)),
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
    """What is nearer its target or farther from it stands open, all else folds away."""
    head = ("figure", *comparison.names)
    both = (*comparison.promises, *comparison.scores)
    judged = [item for item in both if any(b is not None for b in item.better)]
    rest = [item for item in both if item not in judged]
    folded = (
        ("Differs, on target in all or without a target", [d for d in rest if d.changed]),
        ("The same in all", [d for d in rest if not d.changed]),
    )
    return html.table(head, [_row(item) for item in judged]) + "".join(
        f"<details><summary>{escape(name)} ({len(items)})</summary>"
        + html.table(head, [_row(item) for item in items])
        + "</details>"
        for name, items in folded
        if items
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
        f'<tr><th scope="row">{escape(say(piece))}</th>'
        + "".join(f"<td>{escape(say_bone(region))}</td>" for region in regions)
        + "</tr>"
        for piece, regions in comparison.moved
    ]
    return html.section(
        "Who covers what",
        "Only pieces that land elsewhere.",
        html.table(("piece", *comparison.names), rows),
    )


def _best(comparison: Comparison) -> str:
    """Which plans meet most targets, what any of them breaks, and how each differs."""
    hits, told = {}, []
    for name, case in zip(comparison.names, comparison.cases, strict=True):
        broken = [p.name for p in case.scores.promises if not p.kept]
        if broken:
            told.append(f"{name} breaks {' and '.join(broken)}.")
        else:
            aimed = [s for s in (*case.scores.layout, *case.scores.motion) if s.target]
            hits[name] = sum(score.on_target for score in aimed)
    if hits:
        most = max(hits.values())
        first = " and ".join(name for name, n in hits.items() if n == most)
        rest = "".join(f"; {name} {n}" for name, n in hits.items() if n < most)
        told.insert(0, f"Most targets met: {first}, {most}{rest}.")
    marks = [d.better for d in (*comparison.promises, *comparison.scores)]
    columns = zip(comparison.names[1:], [*zip(*marks, strict=True)][1:], strict=True)
    steps = "; ".join(
        f"{name} {column.count(True)} better, {column.count(False)} worse"
        for name, column in columns
    )
    told.append(f"Against {comparison.names[0]}: {steps}.")
    return " ".join(told)
