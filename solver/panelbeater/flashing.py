"""Looks at a plan with the flash meter before anyone sees it move, and says so."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np

from panelbeater.animation import ShotPlan
from panelbeater.exports import FLASH_CAUTION, StillCamera
from panelbeater.scores import FlashReport, measure_flashes

FLASH_PX = 160
"""Width of the stills the flash meter sees: its area rule needs no more."""


@lru_cache(maxsize=1)
def flash_of(plan: ShotPlan) -> FlashReport:
    """The flash meter on every frame as painted, small; remembered for the latest plan.

    A shot on twos is shown both ways, the page in-betweens it and the exports hold it: the
    worse of the two counts.
    """
    shot = plan.rig.shot
    stills = StillCamera(plan.rig, plan.sample).film(FLASH_PX)
    found = measure_flashes(stills, shot.fps)
    if shot.exposure > 1:
        held = np.arange(shot.n_frames) // shot.exposure * shot.exposure
        held[-1] = shot.n_frames - 1
        found = max(found, measure_flashes(stills[held], shot.fps), key=_worst_turns)
    return found


def flash_json(flash: FlashReport) -> dict[str, Any]:
    """The flash meter's verdict as plain values; frames count from 0."""
    out: dict[str, Any] = {
        "fails": flash.fails,
        "is_calm": flash.is_calm,
        "is_spaced": flash.is_spaced,
        "measured_on": f"every frame as painted, {FLASH_PX} px wide, filling the screen",
    }
    for name, count in (("general", flash.general), ("red", flash.red)):
        out[name] = {
            "turns": count.turns,
            "flashes": count.flashes,
            "flashes_anywhere": count.flashes_anywhere,
            "worst_second_from": count.worst_start,
        }
    return out


def flash_warning(flash: FlashReport) -> list[str]:
    """One line where the meter says that the shot may not be shown as it is."""
    if not flash.fails:
        return []
    worst = max(flash.general, flash.red, key=lambda count: count.turns)
    sort = "red" if worst is flash.red else "light"
    return [
        f"flashing: {worst.turns} changes of {sort} over a quarter of the view within one "
        f"second from frame {worst.worst_start + 1}; from 7 on WCAG 2.2 SC 2.3.1 fails: "
        "slow this passage, or calm its contrasts, before anyone sees it"
    ]


def caution_of(flash: FlashReport) -> str:
    """The words that go into every file, where the meter found any flash; else none."""
    if flash.fails:
        return f"{FLASH_CAUTION} This shot fails the flash rule of WCAG 2.2 SC 2.3.1."
    found = max(flash.general.flashes, flash.red.flashes)
    return FLASH_CAUTION if found or not flash.is_spaced else ""


def _worst_turns(flash: FlashReport) -> int:
    return max(flash.general.turns, flash.red.turns)
