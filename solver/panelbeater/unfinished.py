"""The best so far of a search, on the disk until the search has ended well."""

from __future__ import annotations

import contextlib
import hashlib
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from panelbeater.animation import ShotPlan
from panelbeater.errors import PanelbeaterError
from panelbeater.exports import export_json
from panelbeater.reopen import open_plan
from panelbeater.rig import plan_to_json
from panelbeater.shot import Request

UNFINISHED = "unfinished.json"
"""Holds the best so far of a search that has not ended well; gone when it has."""


class Kept:
    """The best the child has handed over."""

    def __init__(self, out: Path, request: str) -> None:
        self._path, self._unfinished = out / "plan.json", out / UNFINISHED
        self._request, self._is_new = request, not out.exists()
        self.best: dict[str, Any] | None = None
        """The values of the best layout, animated or not."""
        self._whole: dict[str, Any] | None = None
        """plan.json of the best whole plan."""
        self._is_written = False

    def so_far(self) -> ShotPlan | None:
        """What an earlier search for the same request left."""
        with contextlib.suppress(OSError, ValueError, RecursionError, PanelbeaterError):
            found = json.loads(self._unfinished.read_text(encoding="utf-8"))
            if isinstance(found, dict) and found.get("request") == self._request:
                plan = plan_of(found)
                self.best = found
                return plan
        return None

    def better(self, values: dict[str, Any]) -> None:
        """Keep it here, and on the disk in case this process ends as well."""
        self.best = values
        if values["is_animated"]:
            self._whole, self._is_written = values["plan"], False
        export_json({"request": self._request, **values}, self._unfinished)

    def write(self) -> None:
        """Put the best whole plan on the disk, once."""
        if self._whole is not None and not self._is_written:
            export_json(self._whole, self._path)
            self._is_written = True

    def forget(self) -> None:
        """The search has ended: nothing is unfinished, and a folder left empty is not ours
        to leave.
        """
        self._unfinished.unlink(missing_ok=True)
        if self._is_new:
            with contextlib.suppress(OSError):
                self._path.parent.rmdir()

    def last_words(self) -> str:
        """What the animator has now, in half a line."""
        written = (
            f"{self._path} holds the best plan so far, other files may be missing or older"
        )
        return written if self._is_written else "nothing was written"


def values_of(plan: ShotPlan) -> dict[str, Any]:
    """What is kept of a plan, and travels from the search to who keeps it."""
    values = plan_to_json(plan.rig, plan.assignment)
    return {"is_animated": plan.is_animated, "plan": values}


def plan_of(values: dict[str, Any]) -> ShotPlan:
    """The plan that `values_of` told. Raises DrawingError where it tells none."""
    plan = open_plan(Path(UNFINISHED), values.get("plan") or {})
    return replace(plan, is_animated=values.get("is_animated") is True)


def digest(request: Request) -> str:
    """The same for the same drawings and wishes, and for nothing else."""
    told = hashlib.sha256()
    for path in (request.vehicle, request.figure, request.piece_list):
        is_there = path is not None and path.is_file()  # else told when it is read
        told.update(
            hashlib.sha256(path.read_bytes() if path and is_there else b"").digest()
        )
    wishes = replace(request, vehicle=Path(), figure=Path(), piece_list=None, before=None)
    told.update(repr((wishes, request.before is None)).encode())
    return told.hexdigest()
