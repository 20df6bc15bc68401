"""Disks that fill, folders that refuse, runs that are killed: the old file stays whole."""

from __future__ import annotations

import builtins
import contextlib
import errno
import itertools
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NoReturn

import numpy as np
import pytest
from click.testing import CliRunner

from panelbeater.cli import main
from panelbeater.drawing import write_piece_list
from panelbeater.errors import DrawingError
from panelbeater.exports import export_json, write_whole
from tests.shots.drawn import write_drawings
from tests.vehicles import yard_tractor

OLD, NEW = b"old plan\n" * 50, b"new plan\n" * 500
N_KILLS = 500 if os.environ.get("PANELBEATER_PROFILE") == "deep" else 20


class _FailsAt:
    """Counts file operations and fails the n-th and all after it, as a full disk does."""

    def __init__(self, n: int, monkeypatch: pytest.MonkeyPatch) -> None:
        self.left = n
        for name in ("replace", "fsync", "unlink", "mkdir", "open", "close"):
            monkeypatch.setattr(os, name, self.counted(getattr(os, name)))
        monkeypatch.setattr("io.open", self.counted(builtins.open))

    def counted(self, real: Callable[..., Any]) -> Callable[..., Any]:
        def operation(*arguments: Any, **named: Any) -> Any:
            self.left -= 1
            if self.left < 0:
                raise OSError(errno.ENOSPC, "No space left on device", "plan.json")
            return real(*arguments, **named)

        return operation


def test_whichever_file_operation_fails_the_file_is_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "out" / "plan.json"
    for n in range(40):
        write_whole(path, [OLD])
        with monkeypatch.context() as patch:
            failing = _FailsAt(n, patch)
            with contextlib.suppress(OSError):
                write_whole(path, [NEW])
        assert path.read_bytes() in (OLD, NEW)
        if failing.left >= 0:  # nothing was left to fail
            break
    assert path.read_bytes() == NEW
    assert n >= 4


def test_chunks_that_fail_half_way_leave_the_old_file_and_nothing_else(
    tmp_path: Path,
) -> None:
    path = tmp_path / "frames.ndjson"
    write_whole(path, [OLD])

    def chunks() -> Iterator[bytes]:
        yield NEW
        raise OSError(errno.ENOSPC, "No space left on device")

    with pytest.raises(OSError, match="No space left"):
        write_whole(path, chunks())
    path.with_name(".frames.ndjson.0.part").mkdir()  # what cannot be swept is left alone
    write_whole(path, [OLD])
    path.with_name(".frames.ndjson.0.part").rmdir()
    assert path.read_bytes() == OLD
    assert [p.name for p in tmp_path.iterdir()] == ["frames.ndjson"]


def test_numbers_that_json_cannot_say_leave_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    write_whole(path, [OLD])
    with pytest.raises(ValueError, match="JSON"):
        export_json({"ground": float("nan")}, path)
    assert path.read_bytes() == OLD


def test_what_json_does_not_know_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    write_whole(path, [OLD])
    with pytest.raises(TypeError, match="cannot write set as JSON"):
        export_json({"ground": {1}}, path)
    assert path.read_bytes() == OLD
    export_json({"ground": np.float64(1.5), "depth": np.arange(2)}, path)
    assert json.loads(path.read_text(encoding="utf-8")) == {"ground": 1.5, "depth": [0, 1]}


def test_what_another_user_is_writing_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    theirs, gone = tmp_path / ".plan.json.4567.part", tmp_path / ".plan.json.4568.part"
    endless = tmp_path / f".plan.json.{10**30}.part"
    for path in (theirs, gone, endless):
        path.write_bytes(b"half")

    def kill(process: int, _signal: int) -> None:
        if process == 4567:
            raise PermissionError
        raise ProcessLookupError if process == 4568 else OverflowError

    monkeypatch.setattr(os, "kill", kill)
    write_whole(tmp_path / "plan.json", [NEW])
    assert sorted(p.name for p in tmp_path.iterdir()) == [theirs.name, "plan.json"]


def test_what_a_killed_run_left_behind_is_swept_and_a_living_one_is_not(
    tmp_path: Path,
) -> None:
    dead = subprocess.Popen([sys.executable, "-c", ""])
    dead.wait()
    stale = tmp_path / f".plan.json.{dead.pid}.part"
    living = tmp_path / f".plan.json.{os.getppid()}.part"
    mine = tmp_path / ".plan.json.notes.part"
    for path in (stale, living, mine):
        path.write_bytes(b"half")
    write_whole(tmp_path / "plan.json", [NEW])
    assert not stale.exists()
    assert living.exists()
    assert mine.exists()


def _write_for_ever(path: Path) -> NoReturn:
    try:
        for k in itertools.count():
            write_whole(path, [f"{k:06d} ".encode() * 20_000, b"end"])
    finally:
        os._exit(1)  # never back into the test run that this is a copy of


def test_a_run_killed_at_any_moment_leaves_a_whole_file(tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    for k in range(N_KILLS):
        writer = os.fork()
        if writer == 0:
            _write_for_ever(path)
        time.sleep(0.005 + 0.0007 * (k % 30))
        os.kill(writer, signal.SIGKILL)
        os.waitpid(writer, 0)
        if path.exists():
            content = path.read_bytes()
            assert content == content[:7] * 20_000 + b"end"
    assert path.exists()
    write_whole(path, [NEW])
    assert [p.name for p in tmp_path.iterdir()] == ["plan.json"]


def test_a_piece_list_is_written_whole_or_not_at_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "pieces.csv"
    path.write_bytes(OLD)

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device", str(path))

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", full)
        with pytest.raises(OSError, match="No space left"):
            write_piece_list(yard_tractor(), path)
    assert path.read_bytes() == OLD
    assert [p.name for p in tmp_path.iterdir()] == ["pieces.csv"]


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES, errno.EROFS, errno.EIO])
def test_the_command_line_tells_a_failing_disk_in_one_line(
    number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_drawings(tmp_path)
    monkeypatch.chdir(tmp_path)

    def fails(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number), "out/plan.json")

    monkeypatch.setattr("panelbeater.keeping.plan_shot", fails)
    result = CliRunner().invoke(main, ["plan", "tractor.svg", "figure.svg", "-o", "out"])
    assert result.exit_code == 2
    assert result.stderr.count("\n") == 1
    assert result.stderr.startswith(f"panelbeater: out/plan.json: {os.strerror(number)}")


def test_what_strangers_wrote_cannot_steer_the_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_drawings(tmp_path)
    monkeypatch.chdir(tmp_path)

    def refuses(*_: object) -> None:
        raise DrawingError("a\x1b[2Jb\rc" + "x" * 5000 + "\nsecond" * 400)

    monkeypatch.setattr("panelbeater.keeping.plan_shot", refuses)
    result = CliRunner().invoke(main, ["plan", "tractor.svg", "figure.svg"])
    assert result.exit_code == 2
    assert "\x1b" not in result.stderr
    assert result.stderr.count("\n") <= 60
    assert max(map(len, result.stderr.splitlines())) <= 1100


@contextlib.contextmanager
def _without_powers() -> Iterator[None]:
    """As a user whom a read-only folder stops, even where the superuser runs the tests."""
    is_root, nobody = os.geteuid() == 0, 65534
    if is_root:
        os.seteuid(nobody)
    try:
        yield
    finally:
        if is_root:
            os.seteuid(0)


@pytest.mark.skipif(sys.platform == "win32", reason="folders have no such permissions")
def test_a_read_only_folder_is_told_in_one_line() -> None:
    with tempfile.TemporaryDirectory() as above:
        os.chmod(above, 0o755)
        folder = Path(above) / "shelf"
        folder.mkdir()
        write_whole(folder / "plan.json", [OLD])
        folder.chmod(0o555)
        with (
            _without_powers(),
            pytest.raises(OSError, match=r"Permission denied: '.*/plan\.json'"),
        ):
            write_whole(folder / "plan.json", [NEW])
        folder.chmod(0o755)
        assert [path.read_bytes() for path in folder.iterdir()] == [OLD]
