"""Writes the stress report: one page for people, one JSON file for programs."""

from __future__ import annotations

from html import escape
from pathlib import Path
from typing import Any

from panelbeater.exports import export_json, write_whole
from panelbeater.flashing import flash_json
from panelbeater.stress import appearance, html, sections, words
from panelbeater.stress.advice import Advice, Gain
from panelbeater.stress.pictures import Stills
from panelbeater.stress.recognition import DESCRIPTORS, measured_hits, open_silhouettes
from panelbeater.stress.report import Report
from panelbeater.stress.robust import LAYOUT, Row

WORST_SHOWN = 4


def write_report(report: Report, out: Path) -> tuple[Path, Path]:
    """Write stress.html and stress.json into a folder; gives both paths."""
    stills = Stills(report.case.plan)
    body = "".join(
        (
            '<div class="pair">',
            sections.next_steps(report, stills),
            sections.promises_and_scores(report),
            "</div>",
            sections.over_time(report, stills),
            sections.moments(report, stills),
            sections.strains(report, _worst_cases(report)),
            '<div class="trio">',
            appearance.outline(report),
            appearance.sights(report),
            appearance.carriers(report),
            "</div>",
        )
    )
    text = html.page(
        title=f"Will it read? {report.case.name}",
        verdict=words.verdict(report),
        caution=words.caution(report.flash),
        body=body,
        foot=appearance.limits(report.case, measured_hits()),
    )
    page, values = out / "stress.html", out / "stress.json"
    write_whole(page, [text.encode()])
    export_json(report_json(report), values)
    return page, values


def _worst_cases(report: Report) -> str:
    """Pictures of the strains that strayed farthest."""
    drawn = [row for row in report.rows if row.cells and row.worst.stills[0]]
    drawn.sort(
        key=lambda row: (-len(row.broken), -max(c.worse_by for c in row.cells.values()))
    )
    cards = []
    for row in drawn[:WORST_SHOWN]:
        name, cell = max(row.cells.items(), key=lambda item: item[1].worse_by)
        own = report.figures.values[name]
        told = f"{name} {html.short(own)} \u2192 {html.short(cell.worst)}"
        # What goes wrong with the layout shows at the end, what with motion on the way.
        busiest, last = row.worst.stills
        at = "at the end" if name in LAYOUT else f"frame {row.worst.busiest + 1}"
        caption = (
            f'<span class="at">{at}</span><b>{escape(row.strain.name)}</b>{escape(told)}'
        )
        still = last if name in LAYOUT else busiest
        cards.append(html.figure(still, row.strain.name, caption))
    if not cards:
        return ""
    inner = f'<div class="moments">{"".join(cards)}</div>'
    return f"<h3>Worst cases</h3>{inner}"


def report_json(report: Report) -> dict[str, Any]:
    """Everything on the page as plain values; frames count from 0."""
    scores = report.case.scores
    read = report.recognition
    shown = open_silhouettes()
    return {
        "format": "panelbeater-stress",
        "version": 1,
        "title": report.case.name,
        "repeats": report.repeats,
        "verdict": scores.to_json(),
        "flash": flash_json(report.flash),
        "advice": [_advice_json(advice) for advice in report.advice],
        "moments": [
            {
                "frame": m.frame,
                "pieces": list(m.pieces),
                "what": m.headline,
                "detail": m.detail,
            }
            for m in report.moments
        ],
        "strains": [_row_json(row) for row in report.rows],
        "views": [
            {
                "view": v.name,
                "told_apart": round(v.share, 4),
                "worst_frame": v.worst_frame,
                "lost": list(v.lost),
            }
            for v in report.views
        ],
        "outline": {
            "turns": {name: read.turns[name] for name in DESCRIPTORS},
            "leans": {
                name: {str(f): round(v, 4) for f, v in read.leans[name].items()}
                for name in DESCRIPTORS
            },
            "nearest": {
                str(frame): {
                    name: {
                        "class": r.nearest,
                        "silhouette": shown[r.example].name,
                        "package": shown[r.example].package,
                    }
                    for name, r in by_name.items()
                }
                for frame, by_name in read.readings.items()
            },
            "figure_alone": {name: r.nearest for name, r in read.bare.items()},
            "left_out_hits": measured_hits(),
        },
        "carriers": [
            {
                "piece": c.piece,
                "first": round(c.first, 4),
                "last": round(c.last, 4),
                "seen_first": round(c.seen_first, 4),
                "seen_last": round(c.seen_last, 4),
                "turns": c.turns,
            }
            for c in report.carriers
        ],
    }


def _advice_json(advice: Advice) -> dict[str, Any]:
    return {
        "advice": words.sentence(advice.idea.words),
        "because": words.reason(advice),
        "write": advice.idea.write,
        "helps": advice.helps,
        "gains": [_gain_json(g) for g in advice.gains],
        "costs": [_gain_json(g) for g in advice.losses],
        "promises_kept_now": list(advice.mended),
        "promises_broken_now": list(advice.broken),
        "wishes_unmet_now": list(advice.against),
        "failed": advice.failed,
    }


def _gain_json(gain: Gain) -> dict[str, Any]:
    return {
        "score": gain.score,
        "before": round(gain.before, 6),
        "after": round(gain.after, 6),
    }


def _row_json(row: Row) -> dict[str, Any]:
    return {
        "strain": row.strain.name,
        "group": row.strain.group,
        "draws": len(row.strain.trials),
        "promises_broken": list(row.broken),
        "draws_that_break": row.draws_broken,
        "failed": row.failed,
        "scores": {
            name: {
                "low": round(c.low, 6),
                "middle": round(c.middle, 6),
                "high": round(c.high, 6),
                "on_target": c.is_hit,
                "worse_by": round(c.worse_by, 4),
            }
            for name, c in row.cells.items()
        },
    }
