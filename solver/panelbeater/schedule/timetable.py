"""Tasks on whole frames that wait for each other and share what there is too little of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from panelbeater.effort import QUIET, Effort, run_solver


@dataclass(frozen=True, slots=True, eq=False)
class Task:
    """Something that takes so many frames, without a break."""

    start: cp_model.IntVar
    n_frames: int
    busy: cp_model.IntervalVar
    """The frames in which it takes up attention."""

    @property
    def end(self) -> cp_model.LinearExprT:
        """The first frame after it."""
        return self.start + self.n_frames


class Timetable:
    """A CP-SAT model of tasks; what it should be good at is added to `cost`."""

    def __init__(self) -> None:
        self.model = cp_model.CpModel()
        self.cost: list[cp_model.LinearExprT] = []
        self.solver = cp_model.CpSolver()
        self._n_tasks = 0

    def task(self, n_frames: int, earliest: int, latest: int, *, quiet: int = 0) -> Task:
        """A task that starts from `earliest` to `latest`; its last `quiet` frames, one
        fewer than all of them at most, may overlap with others.
        """
        name = f"task_{self._n_tasks}"
        self._n_tasks += 1
        start = self.model.new_int_var(earliest, latest, f"start_{name}")
        busy = max(1, n_frames - quiet)
        interval = self.model.new_fixed_size_interval_var(start, busy, name)
        return Task(start, n_frames, interval)

    def one_at_a_time(self, tasks: Sequence[Task]) -> None:
        """No two of them at once."""
        self.model.add_no_overlap([task.busy for task in tasks])

    def at_most(self, tasks: Sequence[Task], limit: cp_model.IntVar) -> None:
        """No more of them at once than the limit, which may itself be decided."""
        self.model.add_cumulative([t.busy for t in tasks], [1] * len(tasks), limit)

    def follow(self, first: Task, then: Task) -> None:
        """The second starts when the first has ended, or later."""
        self.model.add(then.start >= first.end)

    def finish(self, tasks: Sequence[Task], latest: int) -> cp_model.IntVar:
        """The frame in which the last of them has ended."""
        end = self.model.new_int_var(0, latest, "finish")
        self.model.add_max_equality(end, [task.end for task in tasks])
        return end

    def solve(
        self,
        *,
        seed: int,
        deterministic_time: float,
        patience: float = 1.0,
        effort: Effort = QUIET,
    ) -> int:
        """CP-SAT's status for the least cost; the same every time.

        patience : share of the time that is spent at first; more, twice as much each time,
            only while what is best came in the later half of it.
        """
        self.model.minimize(sum(self.cost))
        self.solver.parameters.num_workers = 1
        self.solver.parameters.random_seed = seed
        share = patience
        while True:
            # With more time the search takes the same way, and goes on from there.
            limit = min(share, 1.0) * deterministic_time
            self.solver.parameters.max_deterministic_time = limit
            found = _Latest()
            status = run_solver(self.solver, self.model, effort, found)
            is_settled = status != cp_model.UNKNOWN and found.time <= limit / 2
            if share >= 1 or is_settled or effort.is_stopped:
                return status
            share *= 2


class _Latest(cp_model.CpSolverSolutionCallback):
    """When the best so far was found, in deterministic time."""

    def __init__(self) -> None:
        super().__init__()
        self.time = 0.0

    def on_solution_callback(self) -> None:
        self.time = self.deterministic_time
