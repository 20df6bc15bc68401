"""Long work says how far it is, and stops kindly."""

from __future__ import annotations

import signal
import threading
import time
from itertools import pairwise

import pytest
from ortools.sat.python import cp_model

from panelbeater.effort import QUIET, Effort, run_solver

pytestmark = pytest.mark.solve


def _squares(n: int) -> cp_model.CpModel:
    """A Golomb ruler of n marks: easy to begin, very long to prove."""
    model = cp_model.CpModel()
    marks = [model.new_int_var(0, n * n, f"mark_{i}") for i in range(n)]
    for low, high in pairwise(marks):
        model.add(low < high)
    model.add_all_different([b - a for i, a in enumerate(marks) for b in marks[i + 1 :]])
    model.minimize(marks[-1])
    return model


def _solver() -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    return solver


def test_a_solver_hands_the_ctrl_c_key_back() -> None:
    before = signal.getsignal(signal.SIGINT)
    solver = _solver()
    assert run_solver(solver, _squares(5), QUIET) == cp_model.OPTIMAL
    assert solver.objective_value == 11  # the shortest ruler of five marks
    assert signal.getsignal(signal.SIGINT) is before


def test_a_stopped_solver_comes_back_at_once_with_what_it_has() -> None:
    effort = Effort()
    timer = threading.Timer(0.5, effort.stop.set)
    begun = time.perf_counter()
    timer.start()
    status = run_solver(_solver(), _squares(16), effort)
    assert status == cp_model.FEASIBLE
    assert time.perf_counter() - begun < 15


def test_quiet_work_never_stops() -> None:
    QUIET.note("nobody hears this")
    assert not QUIET.is_stopped


def test_notes_reach_whoever_listens() -> None:
    heard: list[str] = []
    Effort(note=heard.append).note("folding the body")
    assert heard == ["folding the body"]
