"""Offers several layouts side by side, each a full plan that can be taken on."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from panelbeater.animation import ShotPlan
from panelbeater.deliver import deliver
from panelbeater.effort import QUIET, Effort
from panelbeater.exports import (
    Choice,
    Entry,
    export_alternates_sheet,
    export_json,
    export_page,
    export_still_page,
)
from panelbeater.scores import Scores
from panelbeater.shot import Request, plan_alternates

SHOWN = ("own-region coverage", "kept vehicle", "spill", "bend test, mean")
"""Layout scores on the sheet; motion's load is added."""


def offer_alternates(
    request: Request,
    out: Path,
    *,
    n_alternates: int,
    effort: Effort = QUIET,
    allow_flashing: bool = False,
) -> list[dict[str, Any]]:
    """Write OUT/1, OUT/2, ... as full plans, alternates.png, .html and .json beside them.

    Each preview shows the others beside its own plan; alternates.html opens with all of
    them. Gives the rows of alternates.json. Raises as plan_shot and deliver do.
    """
    entries: list[Entry] = []
    plans: list[ShotPlan] = []
    rows: list[dict[str, Any]] = []
    for number, (alternate, plan) in enumerate(
        plan_alternates(request, n_alternates, effort), 1
    ):
        scores = deliver(
            plan,
            out / str(number),
            effort,
            request.limits,
            allow_flashing=allow_flashing,
        )
        facts = _facts(scores)
        facts.update(_worn(plan))
        worth = f"{-alternate.loss:+.1%}" if number > 1 else "the measure"
        if not alternate.is_close:
            worth += ", beyond 5 %"
        facts["worth beside the first"] = worth
        n_pieces = len(plan.rig.drawing.pieces)
        apart = "the first" if number == 1 else f"{alternate.n_different} of {n_pieces}"
        facts["pieces placed elsewhere"] = apart
        entries.append(Entry(number, alternate.name, plan.rig, plan.sample, facts))
        plans.append(plan)
        rows.append(
            {
                "number": number,
                "name": alternate.name,
                "loss": round(alternate.loss, 6),
                "n_different": alternate.n_different,
                "n_pieces": n_pieces,
                "kept": scores.kept,
                "facts": facts,
            }
        )
    title = f"{request.shot.title}: {len(entries)} alternates"
    export_alternates_sheet(entries, out / "alternates.png", title=title)
    effort.note("setting the alternates side by side")
    _write_pages(plans, entries, out, allow_flashing=allow_flashing)
    export_json(rows, out / "alternates.json")
    return rows


def _write_pages(
    plans: Sequence[ShotPlan],
    entries: Sequence[Entry],
    out: Path,
    *,
    allow_flashing: bool,
) -> None:
    """Every preview again, now that all plans are known, and the page to choose from.

    A shot that fails the flash meter keeps its page of stills and moves on no other page.
    """
    verdicts = [
        json.loads((out / str(entry.number) / "scores.json").read_text(encoding="utf-8"))
        for entry in entries
    ]
    moving = [
        k for k, v in enumerate(verdicts) if allow_flashing or not v["flash"]["fails"]
    ]
    page = out / "alternates.html"
    if not moving:
        why = "Each of these shots fails the flash meter; alternates.png shows the robots."
        export_still_page(plans[0].rig, plans[0].sample, page, why=why)
        return
    shown = [entries[k] for k in moving]
    choices = [
        (out / str(entry.number) / "preview.html", Choice(shown, own))
        for own, entry in enumerate(shown)
    ]
    choices.append((page, Choice(shown, 0, up="", is_open=True)))
    for path, choice in choices:
        k = moving[choice.own]
        export_page(
            plans[k].rig, plans[k].sample, path, scores=verdicts[k],
            covers=plans[k].assignment.covers, choice=choice,
        )  # fmt: skip


def _worn(plan: ShotPlan) -> dict[str, str]:
    """What one sees first of a layout: the head, the chest, and where the wheels went."""
    pieces = plan.rig.drawing.pieces
    by_region: dict[str, list[str]] = {}
    wheels = []
    for piece, cover in zip(pieces, plan.assignment.covers, strict=True):
        if not cover.stowed:
            by_region.setdefault(cover.region, []).append(piece.id)
            if piece.kind == "wheel":
                wheels.append(cover.region.replace("_", " "))
    area = {piece.id: piece.outline.area for piece in pieces}
    facts = {}
    for word, region in (("head", "head"), ("chest", "torso")):
        mine = sorted(by_region.get(region, []), key=lambda name: (-area[name], name))
        more = f" and {len(mine) - 1} more" if len(mine) > 1 else ""
        facts[word] = mine[0] + more if mine else "bare"
    if wheels:
        facts["wheels"] = ", ".join(sorted(wheels))
    return facts


def _facts(scores: Scores) -> dict[str, str]:
    broken = [promise.name for promise in scores.promises if not promise.kept]
    layout = {score.name: f"{score.value:.2f}" for score in scores.layout}
    facts = {name: layout[name] for name in SHOWN if name in layout}
    load = [score for score in scores.motion if score.name == "tracking load"]
    facts["tracking load"] = f"{load[0].value:.2f}" if load else "none"
    facts["promises"] = "all kept" if not broken else f"broken: {', '.join(broken)}"
    return facts
