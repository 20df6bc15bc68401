"""Brings a plan.json of an earlier version up to the one that is written today."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from panelbeater.errors import DrawingError

VERSION = 2
"""Raise it with every change of `plan_nouns.py` that a reader of before would misread, add
the step from the version before to `STEPS`, and put a file of that version beside
`tests/rig/test_plan_versions.py`.
"""


def _bends_and_redrawings(values: dict[str, Any]) -> dict[str, Any]:
    """Version 2 lets pieces bend, be redrawn and vanish; in version 1 none did, and the
    nouns say so when nothing is said.
    """
    return values


STEPS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {1: _bends_and_redrawings}
"""From the version named to the next; a step leaves what it is given alone."""


def brought_up(values: Any, *, name: str) -> dict[str, Any]:
    """The plan as a file of today would hold it.

    Raises DrawingError with one line for a version from which no steps lead here.
    """
    version = values.get("version") if isinstance(values, dict) else None
    if type(version) is not int or (version != VERSION and version not in STEPS):
        known = ", ".join(str(v) for v in (*sorted(STEPS), VERSION))
        raise DrawingError(
            f"{name}: version {version!r} of plan.json; this reader takes {known}"
        )
    plan: dict[str, Any] = values
    for step in range(version, VERSION):
        plan = {**STEPS[step](plan), "version": step + 1}
    return plan
