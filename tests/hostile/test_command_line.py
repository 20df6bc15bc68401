"""Hostile files through the command itself: exit status, plain lines, nothing touched."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.hostile.drawings import DRAWINGS, Hostile
from tests.hostile.good import FIGURE, VEHICLE
from tests.hostile.tables import BRIEFS, FRAMES, LISTS, PLANS

PLAN = ("plan", "tractor.svg", "figure.svg", "-o", "out")
SAMPLE: tuple[tuple[tuple[Hostile, ...], str, str, tuple[str, ...]], ...] = (
    (DRAWINGS, "entity-bomb", "tractor.svg", PLAN),
    (DRAWINGS, "scribble", "figure.svg", PLAN),
    (LISTS, "many-faults", "pieces.csv", (*PLAN, "--pieces", "pieces.csv")),
    (BRIEFS, "deep-lists", "brief.toml", ("plan", "brief.toml", "-o", "out")),
    (BRIEFS, "nan-budget", "brief.toml", ("plan", "brief.toml", "-o", "out")),
    (PLANS, "from-the-future", "plan.json", ("export", "plan.json", "--to", "svg")),
    (PLANS, "nested-outline", "plan.json", ("export", "plan.json", "--to", "svg")),
    (FRAMES, "cut-short", "frames.ndjson", ("check", "frames.ndjson")),
)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("files", "name", "path", "command"), SAMPLE, ids=[f"{s[2]}-{s[1]}" for s in SAMPLE]
)
def test_a_hostile_file_ends_the_command_with_two_and_plain_words(
    files: tuple[Hostile, ...],
    name: str,
    path: str,
    command: tuple[str, ...],
    tmp_path: Path,
) -> None:
    (tmp_path / "tractor.svg").write_text(VEHICLE, encoding="utf-8")
    (tmp_path / "figure.svg").write_text(FIGURE, encoding="utf-8")
    hostile = next(file for file in files if file.name == name)
    (tmp_path / path).write_bytes(hostile.content())
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    done = subprocess.run(
        [sys.executable, "-m", "panelbeater", *command],
        cwd=tmp_path, capture_output=True, text=True, timeout=120, check=False,
        env={**os.environ, "PYTHONWARNINGS": "default"},
    )  # fmt: skip
    assert done.returncode == 2, done.stderr
    assert done.stdout == ""
    assert done.stderr.startswith("panelbeater: ")
    assert "Traceback" not in done.stderr
    assert "Warning" not in done.stderr
    assert all(path in line for line in done.stderr.splitlines())
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before


SWALLOWED = """
import os, signal, sys
from panelbeater.cli import main

class Careless:
    def find_spec(self, name, path=None, target=None):
        if name == "numpy":
            try:
                os.kill(os.getpid(), signal.SIGINT)
            except BaseException:
                pass

sys.meta_path.insert(0, Careless())
main(["schema"])
"""


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as on POSIX systems")
def test_ctrl_c_is_heard_while_a_library_that_swallows_it_loads() -> None:
    run = subprocess.run(
        [sys.executable, "-c", SWALLOWED], check=False, capture_output=True, timeout=60
    )
    assert run.returncode == 130
    assert run.stderr == b"panelbeater: abandoned\n"
