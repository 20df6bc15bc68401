"""The parts of the report page, in reading order."""

from __future__ import annotations

from html import escape

import numpy as np

from panelbeater.scores import Score
from panelbeater.stress import html, words
from panelbeater.stress.advice import Advice
from panelbeater.stress.pictures import Stills
from panelbeater.stress.plain import MEANING, say
from panelbeater.stress.recognition import DESCRIPTORS
from panelbeater.stress.report import Report
from panelbeater.stress.robust import COLUMNS, Cell, Row
from panelbeater.stress.strained import found_under_strain
from panelbeater.stress.trials import Figures

FILM = 10
"""Stills in the film strip."""
ADVICE = 6
"""Pieces of advice shown in full."""
WHICH_PX = 180
"""Width of the small picture that shows which pieces are meant; shown at half of it."""
STRIPS = ("tracking load", "bundles", "step", "movers")
CROSS = ' <b class="out">\u2717</b>'
SHADES = (0.02, 0.15, 0.5)
"""Shares of the target by which a figure is worse, from which a cell is shaded deeper."""


def next_steps(report: Report, stills: Stills) -> str:
    """Advice that helps, then what was tried in vain."""
    helpful = report.told(ADVICE)
    items = "".join(_item(a, stills) for a in helpful)
    trades = report.trades()
    if not items:
        items = "<li><p>Nothing that was tried helps without harm.</p></li>"
    choose = (
        f"<h3>Or choose</h3><p>Wins much and costs much: what matters more?</p>"
        f'<ul class="todo">{"".join(_item(a, stills) for a in trades)}</ul>'
        if trades
        else ""
    )
    vain = [a for a in report.advice if a not in (*helpful, *trades)]
    rest = "".join(f"<li>{escape(words.tried_line(a))}</li>" for a in vain)
    tried = (
        f"<details><summary>Tried too, and not worth it ({len(vain)})</summary>"
        f"<ul>{rest}</ul></details>"
        if vain
        else ""
    )
    lead = "Each line was tried: planned again and judged. The figures are what it gave."
    if not report.repeats:
        lead += (
            " This plan came from another version or by hand; re-plans are compared with "
            "planning it again as it is."
        )
    if any(a.idea.write for a in (*helpful, *trades)):
        lead += (
            " Where a line to write is given, put it into the brief or the piece list and "
            "<code>plan --from</code> this plan: all else stays."
        )
    return html.section("Do next", lead, f'<ol class="todo">{items}</ol>{choose}{tried}')


def _item(advice: Advice, stills: Stills) -> str:
    """One piece of advice; which pieces it means is shown on the vehicle."""
    touched = advice.idea.trial.touched
    names = ", ".join(say(piece) for piece in touched)
    lit = (
        f'<img class="which" src="{stills.still(0, WHICH_PX, touched)}" '
        f'alt="{escape(names)} lit on the vehicle">'
        if touched
        else ""
    )
    return (
        f'<li>{lit}<p class="do">{escape(words.sentence(advice.idea.words))}</p>'
        f"<p>{words.advice_line(advice)}</p>"
        f'<p class="why">Because {escape(words.reason(advice))}.</p>'
        f"{words.to_write(advice)}</li>"
    )


def promises_and_scores(report: Report) -> str:
    """Verdict per promise and per score that has a target."""
    scores = report.case.scores
    chips = "".join(
        f'<li class="{"kept" if p.kept else "broken"}">{escape(p.name)}</li>'
        for p in scores.promises
    )
    aimed = [s for s in (*scores.layout, *scores.motion) if s.target is not None]
    rows = [_score_row(s) for s in sorted(aimed, key=lambda s: s.on_target)]
    inner = f'<ul class="promises">{chips}</ul>' + html.table(
        ("score", "value", "beside it", "wanted", "verdict"), rows, kind="scores"
    )
    return html.section(
        "Promises and scores",
        "What every plan must keep, and what a good one reaches.",
        inner,
    )


def _score_row(score: Score) -> str:
    verdict = ("hit", "on target") if score.on_target else ("miss", "missed")
    note = f"<small>{escape(score.note)}</small>" if score.note else ""
    meaning = f"<small>{escape(MEANING.get(score.name, ''))}</small>"
    return (
        f'<tr><th scope="row">{escape(score.name)}{meaning}</th>'
        f"<td>{html.short(score.value)}</td>"
        f'<td class="meter-cell">{html.meter(score)}</td>'
        f"<td>{html.wanted(score)} {note}</td>"
        f'<td class="{verdict[0]}">{verdict[1]}</td></tr>'
    )


def over_time(report: Report, stills: Stills) -> str:
    """The film, what the eye has to do at every frame, and how the outline reads."""
    case = report.case
    n_frames = case.plan.rig.shot.n_frames
    frames = [round(f) for f in np.linspace(0, n_frames - 1, FILM)]
    film = "".join(
        html.figure(stills.still(f, 132), f"frame {f + 1}", str(f + 1)) for f in frames
    )
    rows = [f'<div class="name">the shot</div><div class="film">{film}</div>']
    for score in case.scores.motion:
        if score.name in STRIPS and score.series:
            line = dict(enumerate(score.series))
            high = score.target.high if score.target else None
            curve = html.curve({score.name: line}, n_frames, high=high, name=score.name)
            aim = html.wanted(score)
            rows.append(_strip(score.name, aim or score.unit, curve))
    leans = {name: report.recognition.leans[name] for name in DESCRIPTORS}
    reading = html.curve(leans, n_frames, line=0.0, name="lean of the outline")
    rows.append(_strip("outline", "above the line vehicle, below figure", reading))
    axis = "".join(f"<span>{f + 1}</span>" for f in frames)
    rows.append(f'<div></div><div class="axis">{axis}</div>')
    return html.section(
        "Over time",
        "Frame by frame; the dashed red line is what is wanted, shaded frames are past it.",
        f'<div class="strips">{"".join(rows)}</div>',
    )


def _strip(name: str, note: str, curve: str) -> str:
    return (
        f'<div class="name">{escape(name)}<small>{escape(note)}</small></div>'
        f"<div>{curve}</div>"
    )


def moments(report: Report, stills: Stills) -> str:
    """The worst moments, with the pieces at fault lit."""
    cards = "".join(
        html.figure(
            stills.still(m.frame, 420, m.pieces),
            f"frame {m.frame + 1} with {', '.join(m.pieces[:4]) or 'nothing'} lit",
            f'<span class="at">frame {m.frame + 1}</span>'
            f"<b>{escape(words.sentence(m.headline))}</b>{escape(m.detail)}",
        )
        for m in report.moments
    )
    return html.section(
        "Worst moments",
        "The pieces at fault are lit.",
        f'<div class="moments">{cards}</div>',
    )


def strains(report: Report, worst: str) -> str:
    """The heat map; `worst` is the markup of the worst cases' pictures."""
    own = report.figures
    head = ("the same design", *COLUMNS, "promises")
    first = "".join(f"<td>{_own(own, name)}</td>" for name in COLUMNS)
    broken = ", ".join(own.broken) or "kept"
    rows = [
        f'<tr class="own"><th scope="row">as planned</th>{first}'
        f"<td>{escape(broken)}</td></tr>"
    ]
    rows += [_strain_row(row) for row in report.rows]
    meant = "".join(f"<li>{escape(line)}</li>" for line in found_under_strain(report))
    return html.section(
        "Under strain",
        "Deeper colour: further to the bad side of the plan itself. A cross: the target is "
        "missed. With several draws the worst stands first, the middle one beneath.",
        f'<ul class="meant">{meant}</ul>' + html.table(head, rows, kind="heat") + worst,
    )


def _own(own: Figures, name: str) -> str:
    if name not in own.values:
        return ""
    return html.short(own.values[name]) + (
        CROSS if not own.on_target.get(name, True) else ""
    )


def _strain_row(row: Row) -> str:
    name = f'<th scope="row">{words.row_name(row)}</th>'
    if row.failed:
        return f'<tr>{name}<td colspan="{len(COLUMNS) + 1}">{escape(row.failed)}</td></tr>'
    cells = "".join(
        _cell(row.cells.get(n), spread=len(row.strain.trials) > 1) for n in COLUMNS
    )
    broken = escape(", ".join(row.broken)) or "kept"
    if row.broken and len(row.strain.trials) > 1:
        broken += f"<small>in {row.draws_broken} of {len(row.strain.trials)} draws</small>"
    kind = "h3" if row.broken else "h0"
    return f'<tr>{name}{cells}<td class="{kind}">{broken}</td></tr>'


def _cell(cell: Cell | None, *, spread: bool) -> str:
    if cell is None:
        return '<td class="blank">\u2013</td>'
    heat = sum(cell.worse_by > shade for shade in SHADES)
    text = html.short(cell.worst) + (CROSS if cell.is_hit is False else "")
    if spread:
        text += f"<small>{html.short(cell.middle)}</small>"
    return f'<td class="h{heat}">{text}</td>'
