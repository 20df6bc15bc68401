"""Plans in a process of its own: the best plan so far outlives the search for it."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from multiprocessing.connection import Connection
from multiprocessing.context import ForkContext, SpawnContext
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

from panelbeater.deliver import deliver, headlines, open_plan, scores_json
from panelbeater.effort import Effort
from panelbeater.errors import DrawingError, PanelbeaterError
from panelbeater.exports import export_json
from panelbeater.rig import plan_to_json
from panelbeater.shot import Request, ShotPlan, animated, plan_shot

POLL_S = 0.1
"""How often the waiting side looks at the Ctrl-C key and at how much memory is held."""
UNFINISHED = "unfinished.json"
"""Holds the best so far of a search that has not ended well; gone when it has."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What there is to tell when the files are written."""

    lines: tuple[str, ...]
    """Headlines for the terminal."""
    scores: dict[str, Any]
    """The content of scores.json."""
    cut_short: str = ""
    """Why the search for the best ended early: one line, empty when it did not."""
    went_on: bool = False
    """True where it began with what an earlier search had kept."""


class _LostError(Exception):
    """The child is gone without a last word: killed, or out of memory; may say why."""


def plan_and_deliver(
    request: Request,
    out: Path,
    effort: Effort,
    *,
    allow_flashing: bool = False,
    memory_gib: float | None = None,
) -> Verdict:
    """Plan in a child process, which writes every file of the plan into `out`.

    The child hands over a whole plan as soon as it has a draft, and each better layout. On
    the first Ctrl-C the plan is written as `plan.json` at once, and the child finishes
    kindly with the best it has; if the child is killed, runs out of memory, or holds more
    than `memory_gib`, the best layout is animated and all its files are written here.
    What was kept stays in UNFINISHED until a search ends by itself; the same request, asked
    again, goes on from there.
    Raises what plan_shot and deliver raise; MemoryError when not even a draft was reached.
    """
    # A fork, where there is one, starts at once and inherits what is loaded already.
    deliver_it = partial(_delivered, request, out, allow_flashing=allow_flashing)
    if memory_gib is not None and not Path("/proc/self/statm").exists():
        raise DrawingError("--memory: this system does not tell what a process holds")
    kept = _Kept(out, _digest(request))
    so_far = kept.so_far()
    context: ForkContext | SpawnContext = (
        multiprocessing.get_context("spawn")
        if sys.platform in ("win32", "darwin")
        else multiprocessing.get_context("fork")
    )
    ours, theirs = context.Pipe()
    child = context.Process(
        target=_search, args=(request, so_far, deliver_it, theirs, ours)
    )
    child.start()
    theirs.close()
    try:
        try:
            verdict = _listen(ours, effort, kept, child, memory_gib)
        except _LostError as lost:
            child.join()
            why = _ending(child.exitcode, str(lost))
            if kept.best is None:
                raise MemoryError(why) from None
            kept.write()
            verdict = deliver_it(animated(_read(kept.best), effort), effort, why)
        if not (verdict.cut_short or effort.is_stopped):
            kept.forget()
        return replace(verdict, went_on=so_far is not None)
    except PanelbeaterError:
        kept.forget()
        raise
    except KeyboardInterrupt:
        kept.write()
        raise KeyboardInterrupt(kept.last_words()) from None
    finally:
        child.kill()
        child.join()
        ours.close()


class _Kept:
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
                plan = _read(found)
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
        written = (
            f"{self._path} holds the best plan so far, other files may be missing or older"
        )
        return written if self._is_written else "nothing was written"


def _values(plan: ShotPlan) -> dict[str, Any]:
    values = plan_to_json(plan.rig, plan.assignment)
    return {"is_animated": plan.is_animated, "plan": values}


def _read(values: dict[str, Any]) -> ShotPlan:
    plan = open_plan(Path(UNFINISHED), values.get("plan") or {})
    return replace(plan, is_animated=values.get("is_animated") is True)


def _digest(request: Request) -> str:
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


def _end_beyond(memory_gib: float, child: BaseProcess) -> None:
    """Kill the child, and raise _LostError, when it holds more."""
    with contextlib.suppress(OSError, IndexError):  # it has just ended
        pages = int(Path(f"/proc/{child.pid}/statm").read_text(encoding="ascii").split()[1])
        if pages * os.sysconf("SC_PAGE_SIZE") > memory_gib * 2**30:
            child.kill()
            raise _LostError(f"it came to hold {memory_gib:g} GiB of memory")


def _listen(
    ours: Connection,
    effort: Effort,
    kept: _Kept,
    child: BaseProcess,
    memory_gib: float | None,
) -> Verdict:
    """Pass on what the child says until it is done, and Ctrl-C to the child."""
    is_told = False
    while True:
        if effort.is_stopped:
            kept.write()
            if not is_told:
                ours.send("stop")
                is_told = True
        if memory_gib is not None:
            _end_beyond(memory_gib, child)
        try:
            if not ours.poll(POLL_S):
                continue
            sort, content = ours.recv()
        except (EOFError, ConnectionError):
            raise _LostError from None
        if sort == "note":
            effort.note(content)
        elif sort == "plan":
            kept.better(content)
        elif sort == "error":
            raise content
        else:
            verdict: Verdict = content
            return verdict


def _delivered(
    request: Request,
    out: Path,
    plan: ShotPlan,
    effort: Effort,
    why: str = "",
    *,
    allow_flashing: bool,
) -> Verdict:
    scores = deliver(plan, out, effort, request.limits, allow_flashing=allow_flashing)
    return Verdict(
        tuple(headlines(plan, scores, request.limits)),
        scores_json(plan, scores, request.limits),
        why,
    )


def _ending(status: int | None, why: str) -> str:
    """What befell the child, in one line."""
    if why:
        return f"the search was ended ({why}); raise --memory or simplify the drawings"
    if status == errno.ENOMEM:
        what = "memory ran out"
    elif status is not None and status < 0:
        what = f"it was killed by signal {-status}, as happens when memory runs out"
    else:
        what = f"a fault of ours, status {status}: please report it"
    return f"the search ended early ({what}); free memory or simplify the drawings"


def _search(
    request: Request,
    so_far: ShotPlan | None,
    deliver_it: Callable[[ShotPlan, Effort], Verdict],
    theirs: Connection,
    ours: Connection,
) -> None:
    """The child: plan, deliver, and tell the parent of every step."""
    ours.close()
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's to judge
    lock = threading.Lock()  # solvers take notes from threads of their own

    def tell(sort: str, content: object) -> None:
        with lock:
            theirs.send((sort, content))

    def keep(plan: ShotPlan) -> None:
        tell("plan", _values(plan))

    effort = Effort(note=lambda text: tell("note", text))
    threading.Thread(target=_heed, args=(theirs, effort.stop), daemon=True).start()
    try:
        plan = plan_shot(request, effort, keep, so_far)
        keep(plan)
        tell("done", deliver_it(plan, effort))
    except (PanelbeaterError, OSError) as error:
        tell("error", error)
    except MemoryError:
        sys.exit(errno.ENOMEM)


def _heed(theirs: Connection, stop: threading.Event) -> None:
    """Stop when asked to; end at once when nobody is left to plan for."""
    try:
        theirs.recv()
        stop.set()
        theirs.recv()
    except (EOFError, OSError):
        os._exit(1)
