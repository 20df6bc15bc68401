"""Interrupts or kills a plan at seeded moments, or plans again and again: is it whole, and
the same?

    python -m benchmarks.faults interrupts --count 50 -o out/faults
    python -m benchmarks.faults kills --count 20 -o out/faults
    python -m benchmarks.faults bytes -o out/faults [--plan VEHICLE FIGURE --budget 0.1 ...]

What follows --plan is handed to `panelbeater plan`; without it, the tow tractor gets up as
the rigger. Wall clocks are the point here: run it on a machine that does nothing else.
Interrupts are sent to the command as Ctrl-C would be; where a draft stood, `plan.json` must
be whole after two seconds, and the command must end with 130. A command that is killed must
leave nothing torn, and asked again go on to a layout worth no less. Bytes are compared over
runs, hash seeds, one and two processors, and with load on the machine.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from panelbeater.errors import PanelbeaterError
from panelbeater.rig import plan_from_json
from panelbeater.unfinished import UNFINISHED

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


def _moments(shot: Sequence[str], out: Path, count: int, seed: int) -> list[float]:
    """Seconds after the start, spread over one whole run."""
    begun = time.perf_counter()
    _start(_command(shot, out / "whole")).wait()
    length = time.perf_counter() - begun
    print(f"one run takes {length:.1f} s; {count} moments, seed {seed}")
    rng = np.random.default_rng(seed)
    return sorted(float(at) for at in rng.uniform(0.5, length, count))


def interrupts(shot: Sequence[str], out: Path, count: int, seed: int) -> bool:
    """Ctrl-C at `count` moments of a run, every third time twice."""
    moments = _moments(shot, out, count, seed)
    print(
        "| at s | draft | pressed | plan.json after 2 s | status | ended after s | then |"
    )
    print("|---|---|---|---|---|---|---|")
    n_drafted = in_time = good = 0
    for k, at in enumerate(moments):
        folder = out / f"stopped-{k:02d}"
        process = _start(_command(shot, folder))
        time.sleep(at)
        drafted = (folder / UNFINISHED).exists() or (folder / "plan.json").exists()
        os.killpg(process.pid, signal.SIGINT)
        pressed = time.perf_counter()
        twice = k % 3 == 2
        if twice:
            time.sleep(GRACE_S / 4)
            _press(process)
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(max(0.0, pressed + GRACE_S - time.perf_counter()))
        soon = _state(folder / "plan.json")
        status = process.wait()
        took = time.perf_counter() - pressed
        later = _state(folder / "plan.json")
        row = ("yes" if drafted else "no", "twice" if twice else "once", soon, str(status))
        print(f"| {at:.1f} | {' | '.join(row)} | {took:.1f} | {later} |", flush=True)
        n_drafted += drafted
        in_time += drafted and soon == "whole"
        # Before its first line, the command is ended by the system: 130 to a shell.
        ended = status == 130 or (status == 0 and drafted) or status == -signal.SIGINT
        nothing = not drafted and (twice or status == -signal.SIGINT or took < GRACE_S)
        good += ended and (later == "whole" or (later == "none" and nothing))
    print(f"a draft stood {n_drafted} times; then {in_time} plans were whole within 2 s")
    print(f"{good} of {count} ended well")
    return good == count and in_time == n_drafted


def _press(process: subprocess.Popen[bytes]) -> None:
    """Ctrl-C, for whoever is still there."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGINT)


def kills(shot: Sequence[str], out: Path, count: int, seed: int) -> bool:
    """Kill -9 for the whole command; then the same command once more."""
    print("| at s | kept | plan.json | again | kept worth | worth then |")
    print("|---|---|---|---|---|---|")
    good = 0
    for k, at in enumerate(_moments(shot, out, count, seed)):
        folder = out / f"killed-{k:02d}"
        process = _start(_command(shot, folder))
        time.sleep(at)
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        kept, plan = folder / UNFINISHED, _state(folder / "plan.json")
        before = _worth(json.loads(kept.read_bytes())["plan"]) if kept.exists() else None
        status = _start(_command(shot, folder)).wait()
        after = _worth(json.loads((folder / "plan.json").read_bytes()))
        row = (plan, str(status), f"{before or 0:.4f}", f"{after:.4f}")
        print(f"| {at:.1f} | {'yes' if before else 'no'} | {' | '.join(row)} |", flush=True)
        good += plan != "torn" and status == 0 and after >= (before or 0) - 1e-4
        good -= kept.exists()
    print(f"{good} of {count} left nothing torn and went on to no less")
    return good == count


def _worth(plan: dict[str, Any]) -> float:
    return float(plan["assignment"]["value"])


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
    """Run one of the three."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("interrupts", "kills", "bytes"))
    parser.add_argument("-o", "--out", type=Path, required=True)
    parser.add_argument("--count", type=int, help="50 interrupts, else 20")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--plan", nargs=argparse.REMAINDER, default=SHOT)
    given = parser.parse_args()
    if given.what == "interrupts":
        return not interrupts(given.plan, given.out, given.count or 50, given.seed)
    if given.what == "kills":
        return not kills(given.plan, given.out, given.count or 20, given.seed)
    return not same_bytes(given.plan, given.out, given.count or 20)


if __name__ == "__main__":
    sys.exit(main())
