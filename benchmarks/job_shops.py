"""Job shops whose shortest lengths are known, through the timetable that times the pieces.

    python -m benchmarks.job_shops [NAME ...]

Prints a row each: found, known, lower bound, processor seconds. The instances, with their
sources, are in job_shops.json; ft10 stood open for 26 years after it was published.
"""

from __future__ import annotations

import itertools
import json
import sys
import time
from pathlib import Path
from typing import Any

from ortools.sat.python import cp_model

from panelbeater.schedule.timetable import Timetable

SHOPS: dict[str, Any] = json.loads(
    Path(__file__).with_name("job_shops.json").read_text(encoding="utf-8")
)
NAMES = tuple(name for name in SHOPS if name != "source")


def main() -> int:
    """Solve and print; 1 when a shop is not done in the shortest time known."""
    missed = 0
    print("shop | found | shortest known | at least | processor seconds")
    for name in sys.argv[1:] or NAMES:
        begun = time.process_time()
        found, bound = done_in(name, deterministic_time=600.0)
        known = SHOPS[name]["shortest"]
        seconds = time.process_time() - begun
        print(f"{name} | {found:g} | {known} | {bound:g} | {seconds:.1f}", flush=True)
        missed += found != known or bound != known
    return int(missed > 0)


def done_in(name: str, *, deterministic_time: float) -> tuple[float, float]:
    """The shortest length found for a shop, and the proven lower bound."""
    shop = SHOPS[name]
    longest = sum(map(sum, shop["n_frames"]))
    table = Timetable()
    rows = [[table.task(n, 0, longest) for n in job] for job in shop["n_frames"]]
    for row in rows:
        for first, then in itertools.pairwise(row):
            table.follow(first, then)
    tasks = [
        (task, at)
        for row, machines in zip(rows, shop["machines"], strict=True)
        for task, at in zip(row, machines, strict=True)
    ]
    for machine in {at for _, at in tasks}:
        table.one_at_a_time([task for task, at in tasks if at == machine])
    table.cost.append(table.finish([task for task, _ in tasks], longest))
    status = table.solve(seed=1, deterministic_time=deterministic_time)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), "a timetable always exists"
    return table.solver.objective_value, table.solver.best_objective_bound


if __name__ == "__main__":
    sys.exit(main())
