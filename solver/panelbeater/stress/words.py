"""The report's sentences: what the figures mean to an animator."""

from __future__ import annotations

from html import escape

from panelbeater.exports import FLASH_CAUTION
from panelbeater.scores import FlashReport
from panelbeater.stress.advice import Advice, Gain
from panelbeater.stress.html import short
from panelbeater.stress.plain import FAULT, say_rule
from panelbeater.stress.recognition import DESCRIPTORS
from panelbeater.stress.report import Recognition, Report
from panelbeater.stress.robust import Row

CAUTION = f"{FLASH_CAUTION} This measure is a help, not a medical test."


def verdict(report: Report) -> str:
    """The answer in two sentences, as markup."""
    scores = report.case.scores
    broken = [p.name for p in scores.promises if not p.kept]
    aimed = [s for s in (*scores.layout, *scores.motion) if s.target is not None]
    missed = [s for s in aimed if not s.on_target]
    promises = (
        f'<b class="bad">{len(broken)} of {len(scores.promises)} promises broken '
        f"({escape(', '.join(broken))})</b>"
        if broken
        else f'<b class="good">All {len(scores.promises)} promises kept</b>'
    )
    tone = "bad" if missed else "good"
    return (
        f"{_reading(report)} {promises}; "
        f'<b class="{tone}">{len(aimed) - len(missed)} of {len(aimed)} scores on target'
        "</b>."
    )


def _reading(report: Report) -> str:
    """When the outline stops being a vehicle, in frames from 1."""
    read = report.recognition
    least = report.case.limits.lean
    last = report.case.plan.rig.shot.n_frames - 1
    first = min(read.leans[name][0] for name in DESCRIPTORS)
    final = -max(read.leans[name][last] for name in DESCRIPTORS)
    if first < least and final < least:
        return '<b class="bad">Its outline says neither vehicle nor figure clearly.</b>'
    if first < least:
        return '<b class="bad">Its outline is no clear vehicle at the start.</b>'
    if final < least:
        lost = '<b class="bad">Its outline is no clear figure at the end.</b>'
        return f"{lost} {_bare(read)}"
    turns = sorted(t for t in read.turns.values() if t is not None)
    if not turns:
        return "The outline is a vehicle first and a figure last."
    when = (
        f"{turns[0] + 1}" if turns[0] == turns[-1] else f"{turns[0] + 1} to {turns[-1] + 1}"
    )
    return f"The outline reads as a vehicle first, as a figure from about frame {when} on."


def _bare(read: Recognition) -> str:
    """Whether the figure's drawing is to blame, or the pieces laid on it."""
    reading = max(read.bare.values(), key=lambda reading: reading.lean)
    if reading.lean < 0:
        return "The figure's own drawing reads as one: see what sticks out of it."
    return (
        "Nor is the figure's own drawing: it is taken for "
        f"{escape(_article(reading.nearest))}. Part its legs and arms, or its head, more."
    )


def _article(kind: str) -> str:
    return f"{'an' if kind[:1] in 'aeiou' else 'a'} {kind}"


def caution(flash: FlashReport) -> str:
    """The flashing caution with the meter's verdict, as markup."""
    worst = max(flash.general, flash.red, key=lambda count: count.turns)
    if flash.fails:
        head = (
            f"Fails the flash limit: {worst.flashes} flashes within a second from frame "
            f"{worst.worst_start + 1}"
        )
    else:
        head = f"Flash limit met: at most {worst.flashes} flashes in a second"
    return f"<strong>{escape(head)}</strong>{escape(CAUTION)}"


def gain(item: Gain, *, loss: bool = False) -> str:
    """`tracking load 1.6 -> 0.9`, as markup."""
    kind = "gain loss" if loss else "gain"
    return (
        f'<span class="{kind}">{escape(item.score)} {short(item.before)} \u2192 '
        f"<b>{short(item.after)}</b></span>"
    )


def advice_line(advice: Advice) -> str:
    """What trying it gave, as markup."""
    parts = [
        f'<span class="gain"><b>{escape(n)}</b> kept now</span>' for n in advice.mended
    ]
    parts += [gain(g) for g in advice.gains if _shows(g)][:3]
    text = "; ".join(parts)
    costs = [gain(g, loss=True) for g in advice.losses if _shows(g)][:3]
    costs += [escape(say_rule(rule)) for rule in advice.against[:1]]
    if costs:
        text += ". It costs: " + "; ".join(costs)
    return text + "."


def _shows(item: Gain) -> bool:
    """Whether the reader sees a difference at all."""
    return short(item.before) != short(item.after)


def to_write(advice: Advice) -> str:
    """How to ask for it, as markup; empty where it cannot be asked for."""
    if not advice.idea.write:
        return ""
    return f'<p class="write">Write: <code>{escape(advice.idea.write)}</code></p>'


def reason(advice: Advice) -> str:
    """Why it helps: what the idea was for, or what it turned out to mend."""
    best = advice.gains[0].score if advice.gains else ""
    if best in advice.idea.helps or advice.mended:
        return advice.idea.why
    return FAULT.get(best, advice.idea.why)


def tried_line(advice: Advice) -> str:
    """One line on what did not help, plain text."""
    if advice.failed:
        return f"{sentence(advice.idea.words)}: {advice.failed}."
    if advice.broken:
        return f"{sentence(advice.idea.words)}: breaks {', '.join(advice.broken)}."
    moved = [*advice.gains[:1], *advice.losses[:2]]
    if not moved:
        return f"{sentence(advice.idea.words)}: changes no score worth naming."
    told = ", ".join(f"{g.score} {short(g.before)} \u2192 {short(g.after)}" for g in moved)
    return f"{sentence(advice.idea.words)}: {told}."


def sentence(text: str) -> str:
    """With a capital letter."""
    return text[:1].upper() + text[1:]


def row_name(row: Row) -> str:
    """Name of a strain with its draws, as markup."""
    n = len(row.strain.trials)
    note = f"<small>{n} draws, worst and middle</small>" if n > 1 else ""
    return f"{escape(row.strain.name)}{note}"
