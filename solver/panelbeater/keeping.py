"""Plans in a process of its own: the best plan so far outlives the search for it."""

from __future__ import annotations

import errno
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection
from multiprocessing.context import ForkContext, SpawnContext
from pathlib import Path
from typing import Any

from panelbeater.deliver import deliver, headlines, open_plan, scores_json
from panelbeater.effort import Effort
from panelbeater.errors import PanelbeaterError
from panelbeater.exports import export_json
from panelbeater.rig import plan_to_json
from panelbeater.shot import Request, ShotPlan, plan_shot

POLL_S = 0.1
"""How often the waiting side looks whether Ctrl-C was pressed."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What there is to tell when the files are written."""

    lines: tuple[str, ...]
    """Headlines for the terminal."""
    scores: dict[str, Any]
    """The content of scores.json."""
    cut_short: str = ""
    """Why the search for the best ended early: one line, empty when it did not."""


class _LostError(Exception):
    """The child is gone without a last word: killed, or out of memory."""


def plan_and_deliver(
    request: Request, out: Path, effort: Effort, *, allow_flashing: bool = False
) -> Verdict:
    """Plan in a child process, which writes every file of the plan into `out`.

    The child hands over a whole plan as soon as it has a draft. On the first Ctrl-C that
    is written as `plan.json` at once, and the child finishes kindly with the best it has;
    if the child runs out of memory or is killed, all files of that plan are written here.
    Raises what plan_shot and deliver raise; MemoryError when not even a draft was reached.
    """
    # A fork, where there is one, starts at once and inherits what is loaded already.
    deliver_it = partial(_delivered, request, out, allow_flashing=allow_flashing)
    context: ForkContext | SpawnContext = (
        multiprocessing.get_context("spawn")
        if sys.platform in ("win32", "darwin")
        else multiprocessing.get_context("fork")
    )
    ours, theirs = context.Pipe()
    child = context.Process(target=_search, args=(request, deliver_it, theirs, ours))
    child.start()
    theirs.close()
    kept = _Kept(out)
    try:
        try:
            return _listen(ours, effort, kept)
        except _LostError:
            child.join()
            why = _ending(child.exitcode)
            if kept.values is None:
                raise MemoryError(why) from None
            kept.write()
            return deliver_it(open_plan(out), effort, why)
    except KeyboardInterrupt:
        kept.write()
        raise KeyboardInterrupt(kept.last_words()) from None
    finally:
        child.kill()
        child.join()
        ours.close()


class _Kept:
    """The best whole plan the child has handed over."""

    def __init__(self, out: Path) -> None:
        self._path = out / "plan.json"
        self.values: dict[str, Any] | None = None
        self._is_written = False

    def better(self, values: dict[str, Any]) -> None:
        self.values, self._is_written = values, False

    def write(self) -> None:
        """Put it on the disk, once."""
        if self.values is not None and not self._is_written:
            export_json(self.values, self._path)
            self._is_written = True

    def last_words(self) -> str:
        written = (
            f"{self._path} holds the best plan so far, other files may be missing or older"
        )
        return written if self._is_written else "nothing was written"


def _listen(ours: Connection, effort: Effort, kept: _Kept) -> Verdict:
    """Pass on what the child says until it is done, and Ctrl-C to the child."""
    is_told = False
    while True:
        if effort.is_stopped:
            kept.write()
            if not is_told:
                ours.send("stop")
                is_told = True
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


def _ending(status: int | None) -> str:
    """What befell the child, in one line."""
    if status == errno.ENOMEM:
        what = "memory ran out"
    elif status is not None and status < 0:
        what = f"it was killed by signal {-status}, as happens when memory runs out"
    else:
        what = f"a fault of ours, status {status}: please report it"
    return f"the search ended early ({what}); free memory or simplify the drawings"


def _search(
    request: Request,
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
        tell("plan", plan_to_json(plan.rig, plan.assignment))

    effort = Effort(note=lambda text: tell("note", text))
    threading.Thread(target=_heed, args=(theirs, effort.stop), daemon=True).start()
    try:
        plan = plan_shot(request, effort, keep=keep)
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
