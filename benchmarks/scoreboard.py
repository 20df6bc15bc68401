"""Prints the scoreboard: what stored runs reached beside what was aimed at.

    python -m benchmarks.scoreboard RUN.csv... [--growth FILE] --store

writes SCOREBOARD.md and, from the same rows, baseline.csv, which later runs are compared
with; without --store the page is printed. Runs are files that `benchmarks.run --csv` wrote,
`baseline.csv` among them. A target that was missed is said to be.
"""

from __future__ import annotations

import argparse
import csv
import statistics
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

Line = dict[str, str]
MADE = ("date", "commit", "options", "machine")
FEW, WORTH_TELLING_S = 5, 0.3
"""Fewest different numbers of pieces to fit a line through, and seconds of a small stage.
"""


@dataclass(frozen=True, slots=True)
class Target:
    """One figure that was aimed at, over all planned cases."""

    words: str
    fact: str
    of: Callable[[Sequence[float]], float]
    wanted: float
    at_least: bool = True

    def met(self, value: float) -> bool:
        """True when the run reached it."""
        return value >= self.wanted if self.at_least else value <= self.wanted


TARGETS = (
    Target("coverage, median", "coverage", statistics.median, 0.93),
    Target("coverage, worst", "coverage", min, 0.85),
    Target("own-region coverage, median", "own-region coverage", statistics.median, 0.88),
    Target("own-region coverage, worst", "own-region coverage", min, 0.75),
    Target("bend test, mean of means", "bend test, mean", statistics.mean, 0.85),
    Target("least covered region, worst", "least covered region", min, 0.60),
    Target("spill, worst", "spill", max, 0.05, at_least=False),
    Target("kept vehicle, median", "kept vehicle", statistics.median, 0.80),
    Target("gap over this pool, worst", "gap", max, 0.01, at_least=False),
    Target(
        "bundles (95 % of frames), median", "bundles", statistics.median, 4, at_least=False
    ),
    Target(
        "seen changes of size, median", "secrecy", statistics.median, 0.05, at_least=False
    ),
    Target("step, median", "step", statistics.median, 0.5, at_least=False),
    Target("ease, median", "ease", statistics.median, 2.5, at_least=False),
    Target("final hold, shortest", "hold of the robot", min, 12),
)
"""The aims of layout and motion work; sources of the thresholds: scores/limits.py."""
BESIDE = (
    "promises kept", "coverage", "own-region coverage", "least covered region", "spill",
    "kept vehicle", "bundles", "tracking load", "kink", "value", "s",
)  # fmt: skip
COLUMNS = (
    "pieces", "promises kept", "coverage", "own-region coverage", "gap", "spill", "overlap",
    "kept vehicle", "bundles", "kink", "s", "MiB",
)  # fmt: skip


def main(arguments: list[str] | None = None) -> int:
    """Read the runs and print one page."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("runs", type=Path, nargs="+")
    parser.add_argument("--growth", type=Path, help="what benchmarks.growth printed")
    parser.add_argument(
        "--store", type=Path, nargs="?", const=Path(__file__).parent, metavar="FOLDER",
        help="write SCOREBOARD.md and baseline.csv there, or beside this file",
    )  # fmt: skip
    parser.add_argument("--note", default="", help="what a reader should know of the runs")
    asked = parser.parse_args(arguments)
    lines = [line for run in asked.runs for line in _read(run)]
    ours = [line for line in lines if line["way"] == "panelbeater"]
    made = dict.fromkeys("; ".join(line[fact] for fact in MADE) for line in lines)
    page = [
        "# Scoreboard\n",
        "Printed by `python -m benchmarks.scoreboard`. Seconds are processor time.\n",
        *(f"- {run}" for run in made),
    ]
    if asked.note:
        page.append(f"\n{asked.note}")
    for part in (_promises(ours), _targets(ours), _rivals(lines), _growth(ours)):
        page += part
    page += _cases(ours)
    if asked.growth:
        page += [
            "\n## Growth\n",
            "![Seconds by pieces, frames and corners](growth.svg)\n\n```text",
            asked.growth.read_text(encoding="utf-8").rstrip(),
            "```",
        ]
    if asked.store is None:
        print(*page, sep="\n")
        return 0
    (asked.store / "SCOREBOARD.md").write_text("\n".join(page) + "\n", encoding="utf-8")
    with (asked.store / "baseline.csv").open("w", encoding="utf-8", newline="") as file:
        heads = list(dict.fromkeys(head for line in lines for head in line))
        writer = csv.DictWriter(file, heads, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(lines)
    return 0


def fitted(pieces: Sequence[float], seconds: Sequence[float]) -> float:
    """Exponent of a power law through all points."""
    logs = np.log(pieces), np.log(np.maximum(seconds, 1e-3))
    return float(np.polyfit(*logs, 1)[0])


def _read(path: Path) -> list[Line]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _values(lines: Sequence[Line], fact: str) -> list[float]:
    return [float(line[fact]) for line in lines if line.get(fact)]


def _promises(ours: Sequence[Line]) -> list[str]:
    planned = [line for line in ours if not line["said"]]
    broken = [line for line in planned if line["broken"]]
    whole, bare = len(planned) - len(broken), len(ours) - len(planned)
    out = [
        "\n## Hard promises\n",
        f"All nine kept in {whole} of {len(planned)} plans; "
        f"{bare} of {len(ours)} cases ended without a plan.\n",
    ]
    out += [f"- MISS {line['case']}: {line['broken']}" for line in broken]
    out += [f"- MISS {line['case']}: {line['said']}" for line in ours if line["said"]]
    return out


def _targets(ours: Sequence[Line]) -> list[str]:
    sources = dict.fromkeys(line["source"].split("@")[0] for line in ours)
    heads = [*sources, "all"] if len(sources) > 1 else ["all"]
    out = ["\n## Targets\n", f"| score | target | {' | '.join(heads)} | |",
           "|---|---|" + "---|" * (len(heads) + 1)]  # fmt: skip
    for target in TARGETS:
        groups = [
            [x for x in ours if x["source"].startswith(s)] for s in heads if s != "all"
        ]
        cells = []
        for group in (*groups, ours):
            values = _values(group, target.fact)
            cells.append(f"{target.of(values):.3g}" if values else "-")
        reached = _values(ours, target.fact)
        verdict = "met" if reached and target.met(target.of(reached)) else "**miss**"
        aim = f"{'≥' if target.at_least else '≤'} {target.wanted:g}"
        out.append(f"| {target.words} | {aim} | {' | '.join(cells)} | {verdict} |")
    wanted = sum(_values(ours, "signature pieces"))
    kept = sum(_values(ours, "signature pieces kept"))
    verdict = "met" if kept >= wanted else "**miss**"
    blanks = " | ".join("" for _ in heads[1:])
    lead = f"{blanks} | " if len(heads) > 1 else ""
    out.append(
        f"| signature pieces kept | all | {lead}{kept:.0f} of {wanted:.0f} | {verdict} |"
    )
    return out


def _rivals(lines: Sequence[Line]) -> list[str]:
    """Medians of every way over the cases that all ways planned."""
    ways = list(dict.fromkeys(line["way"] for line in lines))
    if len(ways) == 1:
        return []
    done = {
        way: {x["case"] for x in lines if x["way"] == way and not x["said"]} for way in ways
    }
    shared = set.intersection(*done.values())
    out = ["\n## Beside plainer ways\n",
           f"Medians over the same {len(shared)} cases, folds and placements; one stage "
           "differs. `s` of a rival leaves out the stages before it, ours holds all.\n",
           f"| way | broken plans | {' | '.join(BESIDE)} |",
           "|---|---|" + "---|" * len(BESIDE)]  # fmt: skip
    for way in ways:
        mine = [x for x in lines if x["way"] == way and x["case"] in shared]
        cells = []
        for fact in BESIDE:
            values = _values(mine, fact)
            cells.append(f"{statistics.median(values):.3g}" if values else "-")
        broken = sum(bool(x["broken"]) for x in mine)
        out.append(f"| {way} | {broken} of {len(mine)} | {' | '.join(cells)} |")
    return out


def _growth(ours: Sequence[Line]) -> list[str]:
    """How the seconds of each stage go with the number of pieces, over unlike drawings."""
    planned = [line for line in ours if not line["said"]]
    pieces = _values(planned, "pieces")
    if len(set(pieces)) < FEW:
        return []
    stages = {"all stages": "s"} | {
        name[2:]: name for name in planned[0] if name.startswith("s ")
    }
    spent = {words: _values(planned, stage) for words, stage in stages.items()}
    told = [
        f"- {words}: median {statistics.median(seconds):.3g} s, exponent "
        f"{fitted(pieces, seconds):.2f}"
        for words, seconds in spent.items()
        if len(seconds) == len(pieces) and statistics.median(seconds) >= WORTH_TELLING_S
    ]
    return [
        "\n## Time over pieces\n",
        f"{min(pieces):.0f} to {max(pieces):.0f} pieces; a power law through all cases, "
        "whose drawings differ in more than their number.\n",
        *told,
    ]


def _cases(ours: Sequence[Line]) -> list[str]:
    out = ["\n## Cases\n", f"| case | source | commit | {' | '.join(COLUMNS)} |",
           "|---|---|---|" + "---|" * len(COLUMNS)]  # fmt: skip
    for line in ours:
        cells = [f"{float(line[c]):.3g}" if line.get(c) else "-" for c in COLUMNS]
        lead = [line["case"], line["source"], line["commit"]]
        out.append(f"| {' | '.join(lead + cells)} |")
    return out


if __name__ == "__main__":
    sys.exit(main())
