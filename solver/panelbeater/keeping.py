"""Plans in a process of its own: the best plan so far outlives the search for it."""

from __future__ import annotations

import contextlib
import errno
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

from panelbeater.animation import ShotPlan, animated
from panelbeater.deliver import deliver
from panelbeater.effort import Effort
from panelbeater.errors import DrawingError, PanelbeaterError
from panelbeater.shot import Request, plan_shot
from panelbeater.unfinished import Kept, digest, plan_of, values_of
from panelbeater.verdict import headlines, scores_json

POLL_S = 0.1
"""How often the waiting side looks at the Ctrl-C key and at how much memory is held."""


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
    kept = Kept(out, digest(request))
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
            verdict = deliver_it(animated(plan_of(kept.best), effort), effort, why)
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
    kept: Kept,
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
        tell("plan", values_of(plan))

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
