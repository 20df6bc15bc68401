"""The parts of the report page about what is seen: sight, outline, carriers, trust."""

from __future__ import annotations

from html import escape

import numpy as np

from panelbeater.stress import html
from panelbeater.stress.case import Case
from panelbeater.stress.pictures import as_seen, shadow
from panelbeater.stress.plain import say
from panelbeater.stress.recognition import open_silhouettes
from panelbeater.stress.report import Report

CARRIERS = 8
"""Pieces named as carrying the reading."""


def sights(report: Report) -> str:
    """Pieces told apart when small, blurred or seen by other eyes."""
    rows = "".join(
        _bar(view.name, view.share, f"{view.share:.0%}") for view in report.views
    )
    worst = min(report.views, key=lambda view: view.share)
    if worst.share == 1:
        return html.section(
            "Seen otherwise",
            "Every visible piece stands out from what is next to it.",
            f'<div class="card">{rows}</div>',
        )
    lost = ", ".join(say(piece) for piece in worst.lost[:5]) + (
        " and others" if len(worst.lost) > 5 else ""
    )
    note = f"Lost first, {worst.name}, frame {worst.worst_frame + 1}: {lost}."
    caption = f"{worst.name}, frame {worst.worst_frame + 1}: hardest to tell apart"
    seen = html.figure(as_seen(worst.picture), caption, escape(caption))
    return html.section(
        "Seen otherwise",
        "Share of visible pieces that stand out from what is next to them.",
        f'<div class="card">{rows}</div>{seen}<p class="fine">{escape(note)}</p>',
    )


def _bar(name: str, share: float, text: str) -> str:
    width = 100 * min(max(share, 0.0), 1.0)
    return (
        f'<div class="bar"><span>{escape(name)}</span>'
        f'<i><b style="width:{width:.1f}%"></b></i>'
        f'<span class="num">{escape(text)}</span></div>'
    )


def outline(report: Report) -> str:
    """Silhouettes with what they are taken for."""
    shown = open_silhouettes()
    figures = []
    for frame, mask in report.recognition.shadows.items():
        taken = "; ".join(
            f"{name}: {reading.nearest} ({shown[reading.example].name})"
            for name, reading in report.recognition.readings[frame].items()
        )
        caption = f"frame {frame + 1}<br>{escape(taken)}"
        figures.append(
            html.figure(shadow(mask), f"silhouette of frame {frame + 1}", caption)
        )
    return html.section(
        "Outline only",
        "Black on white: the nearest of the open silhouettes by two descriptors.",
        f'<div class="card"><div class="shadows">{"".join(figures)}</div></div>',
    )


def carriers(report: Report) -> str:
    """Which pieces carry the reading."""
    top = report.carriers[:CARRIERS]
    most = max((c.weight for c in top), default=0.0)
    rows = "".join(
        _bar(
            say(c.piece).removeprefix("the ") + (" \u2217" if c.turns else ""),
            c.weight / most if most > 0 else 0.0,
            f"{100 * max(c.weight, 0.0):.0f}",
        )
        for c in top
    )
    idle = [c.piece for c in report.carriers if max(c.seen_first, c.seen_last) < 0.002]
    note = (
        "\u2217 without it the outline is taken for another sort. "
        if any(c.turns for c in top)
        else ""
    )
    if idle:
        note += f"Hardly seen at either end: {', '.join(idle)}."
    return html.section(
        "Who carries the reading",
        "Each piece dropped in turn: hundredths of lean lost at the first or last frame.",
        f'<div class="card">{rows}</div><p class="fine">{escape(note)}</p>',
    )


def limits(case: Case, hits: dict[str, dict[str, float]]) -> str:
    """How it was measured and how far to trust it; the foot of the page."""
    rates = "; ".join(
        f"{name}: vehicle {rate['vehicle']:.0%}, person {rate['person']:.0%}, all others "
        f"{np.mean([v for k, v in rate.items() if k not in ('vehicle', 'person')]):.0%}"
        for name, rate in hits.items()
    )
    packages = sorted({(s.package, s.version, s.licence) for s in open_silhouettes()})
    sources = "; ".join(
        f"{name} {version} ({licence})" for name, version, licence in packages
    )
    notes = (
        "Frames count from 1. Every figure but pictures and outlines comes from the judge, "
        "which sees the finished frames and nothing of the solvers.",
        "Thresholds of the project's own can be changed in the brief under [limits]; "
        f"a piece stands out from a colour difference of {case.limits.told_apart:g} on.",
        "Outlines: Zernike moments (Khotanzad and Hong 1990) and shape contexts (Belongie "
        "et al. 2002; Mori et al. 2005), upright, either handedness; the nearest counts. "
        f"Left out one at a time, the silhouettes find their own sort so often: {rates}. "
        "Flat icons are no audience: trust the turn of the curve more than a single name.",
        f"Silhouettes: {sources}.",
        "Other proportions: measures over stature spread as in the public data of ANSUR II "
        "(Gordon et al. 2014, Natick/TR-15/007; 4,082 men, 1,986 women), the height stays; "
        "every part is drawn on its own: more than people vary. The fold eases to the "
        "other body; no other fold is looked for.",
        "Colour-blind views: Machado, Oliveira and Fernandes 2009, full severity. Blur "
        "stands for low vision only roughly.",
        "Flashing: WCAG 2.2, success criterion 2.3.1, on every frame as painted, taken to "
        "fill the screen.",
    )
    items = "".join(f"<li>{escape(note)}</li>" for note in notes)
    return f'<section><h2>How far to trust this</h2><ul class="fine">{items}</ul></section>'
