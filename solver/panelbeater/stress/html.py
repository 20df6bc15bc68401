"""Small building blocks of the report page: every text is escaped here, once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from importlib.resources import files
from string import Template

from panelbeater.scores import Score


def page(*, title: str, verdict: str, caution: str, body: str, foot: str) -> str:
    """The whole page; `title` is plain text, the rest is markup."""
    return Template(_source("report.html")).substitute(
        title=escape(title),
        verdict=verdict,
        caution=caution,
        body=body,
        foot=foot,
        style=_source("report.css"),
    )


def _source(name: str) -> str:
    return files("panelbeater.stress").joinpath("page", name).read_text(encoding="utf-8")


def section(title: str, lead: str, inner: str) -> str:
    """A headed part of the page; `lead` and `inner` are markup."""
    return f'<section><h2>{escape(title)}</h2><p class="lead">{lead}</p>{inner}</section>'


def figure(source: str, alt: str, caption: str) -> str:
    """A picture; `caption` is markup."""
    return (
        f'<figure><img src="{source}" alt="{escape(alt)}">'
        f"<figcaption>{caption}</figcaption></figure>"
    )


def table(head: Sequence[str], rows: Sequence[str], *, kind: str = "") -> str:
    """A table that scrolls on its own where the page is narrow; rows are markup."""
    cells = "".join(f'<th scope="col">{escape(text)}</th>' for text in head)
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="{escape(head[0])}">'
        f'<table class="{kind}"><thead><tr>{cells}</tr></thead>'
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


def short(value: float) -> str:
    """Three figures are enough to compare by eye; a rounding error is nothing."""
    if abs(value) < 1e-7:
        return "0"
    if abs(value) >= 100:
        return f"{value:.0f}"
    return f"{value:.3g}"


def wanted(score: Score) -> str:
    """`at most 4`, `at least 0.65`, or nothing."""
    if score.target is None:
        return ""
    sides = []
    if score.target.low is not None:
        sides.append(f"at least {short(score.target.low)}")
    if score.target.high is not None:
        sides.append(f"at most {short(score.target.high)}")
    return " and ".join(sides)


def meter(score: Score) -> str:
    """Where a value lies against its target: the dashed mark is the target."""
    if score.target is None:
        return ""
    edge = score.target.high if score.target.low is None else score.target.low
    top = 1.6 * max(abs(edge or 0.0), 1e-9)
    at, mark = (min(max(v / top, 0.0), 1.0) * 108 + 1 for v in (score.value, edge or 0.0))
    colour = "var(--good)" if score.on_target else "var(--bad)"
    return (
        '<svg class="meter" viewBox="0 0 110 10" aria-hidden="true">'
        '<rect width="110" height="10" rx="2" fill="var(--track)"/>'
        f'<rect width="{at:.1f}" height="10" rx="2" fill="{colour}"/>'
        f'<path d="M{mark:.1f} 0v10" stroke="var(--ink)" stroke-width="2"/></svg>'
    )


def curve(
    series: Mapping[str, Mapping[int, float]],
    n_frames: int,
    *,
    high: float | None = None,
    line: float | None = None,
    name: str,
) -> str:
    """Values over the frames of the shot; what lies past `high` is shaded.

    `line` draws a limit without shading. Every series is a mapping of frame (from 0) to
    value; the second one is dashed.
    """
    values = [v for line in series.values() for v in line.values()]
    limit = high if high is not None else line
    top = max([*values, *([] if limit is None else [1.15 * limit])], default=1.0)
    bottom = min([0.0, *values])
    span = max(top - bottom, 1e-9)

    def at(frame: float, value: float) -> str:
        x, y = 1000 * frame / max(n_frames - 1, 1), 58 - 54 * (value - bottom) / span
        return f"{x:.1f} {y:.1f}"

    shades = [
        f'<rect class="over" x="{1000 * (f - 0.5) / max(n_frames - 1, 1):.1f}" y="0" '
        f'width="{1000 / max(n_frames - 1, 1):.1f}" height="60"/>'
        for f, v in next(iter(series.values())).items()
        if high is not None and v > high
    ]
    lines = [
        f'<polyline class="line{" second" if n else ""}" '
        f'points="{" ".join(at(f, v) for f, v in line.items())}"/>'
        for n, line in enumerate(series.values())
    ]
    mark = ""
    if limit is not None:
        y = at(0, limit).split()[1]
        mark = f'<path class="limit" d="M0 {y}H1000"/>'
    return (
        f'<svg class="curve" viewBox="0 0 1000 60" preserveAspectRatio="none" role="img" '
        f'aria-label="{escape(name)}">{"".join(shades)}{mark}{"".join(lines)}</svg>'
    )
