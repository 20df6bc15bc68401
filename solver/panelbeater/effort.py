"""Long work tells how far it is and can be stopped without losing what it has."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.sat.python import cp_model


def _silent(_: str) -> None:
    """Tell nobody."""


@dataclass(frozen=True, slots=True)
class Effort:
    """Handed to every slow stage."""

    note: Callable[[str], None] = _silent
    """Called with one short line when something new begins."""
    stop: threading.Event = field(default_factory=threading.Event)
    """Set it, from any thread or a signal, and the stage returns the best it has."""

    @property
    def is_stopped(self) -> bool:
        """True once the animator wants what there is."""
        return self.stop.is_set()


QUIET = Effort()
"""Says nothing, never stops."""


def run_solver(
    solver: cp_model.CpSolver,
    model: cp_model.CpModel,
    effort: Effort,
    callback: cp_model.CpSolverSolutionCallback | None = None,
) -> int:
    """Solve in a side thread, so that Ctrl-C reaches us at once and stops the search
    kindly.

    CP-SAT would otherwise keep the signal to itself; Python's own handler is back
    afterwards.
    """
    solver.parameters.catch_sigint_signal = False
    result: list[int] = []
    worker = threading.Thread(
        target=lambda: result.append(int(solver.solve(model, callback)))
    )
    handler = signal.getsignal(signal.SIGINT)
    worker.start()
    while worker.is_alive():
        worker.join(0.1)
        if effort.is_stopped:
            solver.stop_search()
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, handler)
    if not result:
        raise RuntimeError("the solver ended without a status")
    return result[0]
