"""The choice of placements alone, beside rivals on the same pool, and how it grows.

    python -m benchmarks.assignment [--sizes 60] [--csv FILE] [--picture FILE]

A barge of 15 to 240 equal boxes and one 60-piece drawing of ours dress the dock hand; then
60 boxes choose among more and more placements. Every way answers the same rows. Seconds
are processor time; HiGHS is stopped after as many seconds as ours took, then once more
after LONG_S, which also gives the bound that all are held against. A gap is what lies
between a layout and the least bound any way proved over this pool of placements.
"""

from __future__ import annotations

import argparse
import csv
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from benchmarks.growth import FIGURE, barge
from benchmarks.plot import draw_growth, fitted
from benchmarks.rivals import by_exchange, by_linear_sum
from benchmarks.sources import own_cases
from panelbeater.animation import Hidden
from panelbeater.assignment import AssignmentOptions, Pool, offer_placements
from panelbeater.assignment.assign import case_of, grow_pool
from panelbeater.assignment.rows import (
    Rows,
    hushed,
    narrowed,
    open_ended,
    rows_of,
    solve_rows,
)
from panelbeater.assignment.solve import Choice, build, choose
from panelbeater.assignment.table import UNIT, Case
from panelbeater.effort import QUIET
from panelbeater.shot import Request, hide_body
from panelbeater.terms.arrays import Ints

PIECES = (15, 30, 60, 120, 240)
PER_REGION = (2, 4, 8, 16)
"""Placements of one piece on one region: what makes the pool of 60 boxes larger."""
N_BOXES, DRAWN = 60, "straddle_carrier x dock_hand"
LONG_S, NEAR = 60.0, 0.01
PROOFS = (1.0, 2.0, 4.0)
"""Budgets tried in turn until a layout is proven within NEAR."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One way's layout of one case."""

    way: str
    seconds: float
    value: float
    bound: float = np.inf


@dataclass(frozen=True, slots=True)
class Table:
    """All ways on one pool."""

    series: str
    count: int
    """Pieces, or placements where these are what grows."""
    n_pieces: int
    n_placements: int
    answers: tuple[Answer, ...]

    @property
    def bound(self) -> float:
        """The least any way proved."""
        return min(answer.bound for answer in self.answers)

    def gap(self, answer: Answer) -> float:
        """Share of the bound that may be missing."""
        return (self.bound - answer.value) / abs(self.bound)


def main(arguments: list[str] | None = None) -> int:
    """Solve every size every way, print, and draw."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--series", choices=("pieces", "drawing", "placements"))
    parser.add_argument("--sizes", type=int, nargs="+", help="only these numbers of boxes")
    parser.add_argument("--long", type=float, default=LONG_S, help="seconds for HiGHS")
    parser.add_argument("--csv", type=Path)
    parser.add_argument("--picture", type=Path)
    asked = parser.parse_args(arguments)
    print("| series | pieces | placements | way | s | worth | gap to the least bound |")
    print("|---|---|---|---|---|---|---|")
    tables: list[Table] = []
    for series, count, case in _cases(asked.series, asked.sizes):
        tables.append(_solved(series, count, case, asked.long))
        print(_told(tables[-1]), flush=True)
        if asked.csv:
            _write(asked.csv, tables)
    curves = _curves(tables)
    for name, (counts, ways) in curves.items():
        told = ", ".join(
            f"{way} {fitted(counts, spent):.2f}" for way, spent in ways.items()
        )
        print(f"{name}: exponents {told}")
    if asked.picture:
        draw_growth(curves, asked.picture)
    return 0


def _cases(
    only: str | None, sizes: Sequence[int] | None
) -> Iterator[tuple[str, int, Case]]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "barge.svg"
        for n in sizes or PIECES:
            if only in (None, "pieces"):
                path.write_text(barge(n, 16), encoding="utf-8")
                hidden = hide_body(Request(path, FIGURE))
                yield "pieces", n, _priced(hidden)
        if only in (None, "drawing"):
            drawn = next(case for case in own_cases() if case.name == DRAWN)
            case = _priced(hide_body(Request(drawn.vehicle, drawn.figure)))
            yield "drawing", len(case.pieces), case
        if only in (None, "placements"):
            path.write_text(barge(N_BOXES, 16), encoding="utf-8")
            hidden = hide_body(Request(path, FIGURE))
            for n in PER_REGION:
                pool = _pool(hidden, replace(AssignmentOptions(), per_region=n))
                case = case_of(hidden.drawing, hidden.figure, hidden.folds[0], pool)
                yield "placements", len(case.placements), case


def _pool(hidden: Hidden, options: AssignmentOptions | None = None) -> Pool:
    return offer_placements(
        hidden.drawing, hidden.figure, ground=hidden.ground, options=options
    )


def _priced(hidden: Hidden) -> Case:
    """The case as a plan meets it: the pool grown against its own dual prices."""
    drawing, figure, fold = hidden.drawing, hidden.figure, hidden.folds[0]
    return case_of(drawing, figure, fold, grow_pool(drawing, figure, fold, _pool(hidden)))


def _solved(series: str, count: int, case: Case, long_s: float) -> Table:
    wall = time.perf_counter()
    answers = [_ours(case, 1.0)]
    wall = time.perf_counter() - wall
    slowed = max(1.0, wall / answers[0].seconds)  # by whatever else the machine does
    model, table = build(case)
    rows = rows_of(model, len(table.chosen))
    answers += [
        _timed("HiGHS, as long", lambda: highs(rows, wall)),
        _timed("HiGHS, long", lambda: highs(rows, long_s * slowed)),
        _plain("greedy with exchange", by_exchange, case, rows),
        _plain("linear sum", by_linear_sum, case, rows),
    ]
    found = Table(series, count, len(case.pieces), len(case.placements), tuple(answers))
    for budget in PROOFS[1:]:
        if found.gap(found.answers[0]) <= NEAR or series == "placements":
            break
        more = (*answers, _ours(case, budget))
        found = replace(found, answers=more)
        if found.gap(more[-1]) <= NEAR:
            break
        answers = list(more)
    return found


def _ours(case: Case, budget: float) -> Answer:
    time_allowed = case.options.deterministic_time * budget

    def solve() -> tuple[float, float]:
        choice = choose(case, seed=1, deterministic_time=time_allowed, effort=QUIET)
        return choice.value, choice.bound

    return _timed("ours" if budget == 1 else f"ours, budget {budget:g}", solve)


def _timed(way: str, solve: Callable[[], tuple[float, float]]) -> Answer:
    begun = time.process_time()
    value, bound = solve()
    return Answer(way, time.process_time() - begun, value, bound)


def highs(rows: Rows, seconds: float) -> tuple[float, float]:
    """Worth and bound that HiGHS reaches on these rows, one thread, by its own clock."""
    with hushed():
        answer = milp(
            -rows.worth,
            constraints=[
                LinearConstraint(rows.rows, open_ended(rows.low), open_ended(rows.high))
            ],
            integrality=rows.whole,
            bounds=Bounds(rows.lower, rows.upper),
            options={"mip_rel_gap": NEAR, "time_limit": seconds},
        )
    bound = np.inf if answer.mip_dual_bound is None else -answer.mip_dual_bound / UNIT
    return (-np.inf if answer.x is None else -answer.fun / UNIT), bound


def _plain(way: str, find: Callable[[Case], Choice], case: Case, rows: Rows) -> Answer:
    begun = time.process_time()
    choice = find(case)
    return Answer(way, time.process_time() - begun, under_all_rules(rows, choice.chosen))


def under_all_rules(rows: Rows, chosen: Ints) -> float:
    """Worth of a layout that was found without the rules; minus infinity where it breaks
    one that has no price.
    """
    nothing = np.zeros(int(rows.whole.sum()), dtype=bool)
    laid = nothing.copy()
    laid[chosen] = True
    return solve_rows(narrowed(rows, nothing, laid), gap=0.0, n_nodes=100).value / UNIT


def _told(table: Table) -> str:
    return "\n".join(
        f"| {table.series} | {table.n_pieces} | {table.n_placements} | {answer.way} | "
        f"{answer.seconds:.1f} | {answer.value:.4f} | {table.gap(answer):.2%} |"
        for answer in table.answers
    )


def _curves(
    tables: Sequence[Table],
) -> dict[str, tuple[list[float], dict[str, list[float]]]]:
    """Seconds of the ways that every size was solved by, series with two sizes and more."""
    curves = {}
    for series in dict.fromkeys(table.series for table in tables):
        mine = sorted((t for t in tables if t.series == series), key=lambda t: t.count)
        ways = {
            way: [a.seconds for t in mine for a in t.answers if a.way == way]
            for way in ("ours", "greedy with exchange", "linear sum")
        }
        if len(mine) > 1:
            curves[series] = ([float(table.count) for table in mine], ways)
    return curves


def _write(path: Path, tables: Sequence[Table]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(
            ["series", "pieces", "placements", "way", "s", "worth", "bound", "gap"]
        )
        for table in tables:
            for a in table.answers:
                figures = (f"{x:.5g}" for x in (a.seconds, a.value, a.bound, table.gap(a)))
                writer.writerow(
                    [table.series, table.n_pieces, table.n_placements, a.way, *figures]
                )


if __name__ == "__main__":
    sys.exit(main())
