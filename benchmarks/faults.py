"""Interrupts a plan at seeded moments, or plans again and again: is it whole, and the same?

    python -m benchmarks.faults interrupts --count 50 -o out/faults
    python -m benchmarks.faults bytes -o out/faults [--plan VEHICLE FIGURE --budget 0.1 ...]

What follows --plan is handed to `panelbeater plan`; without it, the tow tractor gets up as
the rigger. Wall clocks are the point here: run it on a machine that does nothing else.
Interrupts are sent to the command as Ctrl-C would be; after two seconds `plan.json` must be
whole (or the old one untouched), and the command must end with 130. Bytes are compared over
runs, hash seeds, one and two processors, and with load on the machine.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from panelbeater.errors import PanelbeaterError
from panelbeater.rig import plan_from_json

DEMO = Path(__file__).parents[1] / "solver" / "panelbeater" / "demo"
SHOT = (str(DEMO / "tow_tractor.svg"), str(DEMO / "rigger.svg"))
GRACE_S = 2.0
COMPARED = ("plan.json", "frames.ndjson", "scores.json", "preview.html", "rig.svg")


def _command(shot: Sequence[str], out: Path) -> list[str]:
    return [sys.executable, "-m", "panelbeater", "plan", *shot, "-o", str(out)]


def _start(command: Sequence[str], **environment: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        env={**os.environ, **environment}, start_new_session=True,
    )  # fmt: skip


def _state(path: Path) -> str:
    """What lies in plan.json: nothing, a whole plan, or a torn one."""
    if not path.exists():
        return "none"
    try:
        plan_from_json(json.loads(path.read_text(encoding="utf-8")), name=str(path))
    except (ValueError, PanelbeaterError):
        return "torn"
    return "whole"


def interrupts(shot: Sequence[str], out: Path, count: int, seed: int) -> bool:
    """Ctrl-C at `count` moments spread over one whole run."""
    begun = time.perf_counter()
    _start(_command(shot, out / "whole")).wait()
    length = time.perf_counter() - begun
    print(f"one run takes {length:.1f} s; {count} interrupts, seed {seed}")
    print("| at s | plan.json after 2 s | ended after s | status | plan.json then |")
    print("|---|---|---|---|---|")
    rng = np.random.default_rng(seed)
    good = in_time = 0
    for k, at in enumerate(np.sort(rng.uniform(0.5, length, count)).tolist()):
        folder = out / f"stopped-{k:02d}"
        process = _start(_command(shot, folder))
        time.sleep(at)
        os.killpg(process.pid, signal.SIGINT)
        pressed = time.perf_counter()
        time.sleep(GRACE_S)
        soon = _state(folder / "plan.json")
        status = process.wait()
        later = _state(folder / "plan.json")
        took = time.perf_counter() - pressed
        print(f"| {at:.1f} | {soon} | {took:.1f} | {status} | {later} |", flush=True)
        in_time += soon == "whole"
        ended = status in (0, 130) and later == "whole" and soon != "torn"
        # Before its first line, the command is ended by the system: 130 to a shell.
        good += ended or (status == -signal.SIGINT and later == "none")
    print(f"{in_time} of {count} whole within 2 s, {good} of {count} ended well")
    return good == count


def same_bytes(shot: Sequence[str], out: Path, runs: int) -> bool:
    """The same plan whatever the run, the hash seed, the processors and the load."""
    print("| run | hash seed | processors | load | digest |")
    print("|---|---|---|---|---|")
    digests: set[str] = set()
    everywhere = sorted(os.sched_getaffinity(0))
    for k in range(runs):
        hash_seed, few, loaded = str(k % 5), k % 2 == 0, k % 3 == 2
        folder = out / f"again-{k:02d}"
        busy = [
            subprocess.Popen([sys.executable, "-c", "while True: pass"])
            for _ in everywhere * loaded
        ]
        os.sched_setaffinity(0, everywhere[:1] if few else everywhere)
        status = _start(_command(shot, folder), PYTHONHASHSEED=hash_seed).wait()
        os.sched_setaffinity(0, everywhere)
        for process in busy:
            process.kill()
            process.wait()
        told = hashlib.sha256()
        for name in COMPARED:
            told.update((folder / name).read_bytes() if status == 0 else str(k).encode())
        digests.add(told.hexdigest())
        cores = 1 if few else len(everywhere)
        load = "loaded" if loaded else "quiet"
        digest = told.hexdigest()[:12]
        print(f"| {k + 1} | {hash_seed} | {cores} | {load} | {digest} |", flush=True)
    print(f"{len(digests)} different plan{'s' * (len(digests) > 1)} in {runs} runs")
    return len(digests) == 1


def main() -> int:
    """Run one of the two."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("interrupts", "bytes"))
    parser.add_argument("-o", "--out", type=Path, required=True)
    parser.add_argument("--count", type=int, help="50 interrupts, or 20 runs")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--plan", nargs=argparse.REMAINDER, default=SHOT)
    given = parser.parse_args()
    if given.what == "interrupts":
        return not interrupts(given.plan, given.out, given.count or 50, given.seed)
    return not same_bytes(given.plan, given.out, given.count or 20)


if __name__ == "__main__":
    sys.exit(main())
