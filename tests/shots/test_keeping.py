"""Whatever befalls the search, the best plan so far is kept, and told in one line."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn

import pytest

from panelbeater.effort import Effort
from panelbeater.errors import NoFoldError
from panelbeater.keeping import Verdict, plan_and_deliver
from panelbeater.library import open_plan
from panelbeater.shot import Request, ShotPlan, draft_shot, hide_body
from panelbeater.terms.timing import ShotOptions
from tests.shots.drawn import write_drawings

pytestmark = [
    pytest.mark.shot,
    pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="a fork is patched"),
]
Keep = Callable[[ShotPlan], None]


@pytest.fixture(scope="module")
def request_and_draft(tmp_path_factory: pytest.TempPathFactory) -> tuple[Request, ShotPlan]:
    """A small shot, and its first plan in draft."""
    folder = tmp_path_factory.mktemp("drawings")
    write_drawings(folder)
    shot = ShotOptions(n_frames=24, budget=0.1)
    request = Request(folder / "tractor.svg", folder / "figure.svg", shot=shot)
    return request, draft_shot(hide_body(request), shot)


def _plan(
    out: Path,
    request_and_draft: tuple[Request, ShotPlan],
    ending: Callable[[], object],
    monkeypatch: pytest.MonkeyPatch,
    effort: Effort | None = None,
    *,
    is_drafted: bool = True,
) -> Verdict:
    """Plan with a search that hands over its draft, and then comes to this end."""
    request, draft = request_and_draft

    def search(_: Request, effort: Effort, keep: Keep) -> ShotPlan:
        if is_drafted:
            keep(draft)
        effort.note("drafted")
        ending()
        effort.stop.wait(60)
        return draft

    monkeypatch.setattr("panelbeater.keeping.plan_shot", search)
    return plan_and_deliver(request, out, effort or Effort())


def _killed() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def _out_of_memory() -> NoReturn:
    raise MemoryError


@pytest.mark.parametrize(
    ("ending", "said"),
    [(_killed, "killed by signal 9"), (_out_of_memory, "memory ran out")],
)
def test_a_search_that_dies_leaves_its_draft_with_all_files(
    ending: Callable[[], object],
    said: str,
    tmp_path: Path,
    request_and_draft: tuple[Request, ShotPlan],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    verdict = _plan(tmp_path / "out", request_and_draft, ending, monkeypatch)
    assert said in verdict.cut_short
    assert "\n" not in verdict.cut_short
    assert (tmp_path / "out" / "preview.html").exists()
    kept = open_plan(tmp_path / "out")
    assert kept.rig.tracks[0].piece == request_and_draft[1].rig.tracks[0].piece


def test_a_search_that_dies_before_a_draft_leaves_the_old_plan(
    tmp_path: Path,
    request_and_draft: tuple[Request, ShotPlan],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    (tmp_path / "plan.json").write_text("an older plan", encoding="utf-8")
    with pytest.raises(MemoryError, match="killed by signal 9"):
        _plan(tmp_path, request_and_draft, _killed, monkeypatch, is_drafted=False)
    assert (tmp_path / "plan.json").read_text(encoding="utf-8") == "an older plan"
    assert [path.name for path in tmp_path.iterdir()] == ["plan.json"]


def test_the_plan_is_on_the_disk_as_soon_as_ctrl_c_is_pressed(
    tmp_path: Path,
    request_and_draft: tuple[Request, ShotPlan],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    seen: list[bool] = []
    stop = threading.Event()

    def note(text: str) -> None:
        if text == "drafted":
            stop.set()
        elif stop.is_set():
            seen.append((tmp_path / "plan.json").exists())

    verdict = _plan(
        tmp_path, request_and_draft, lambda: None, monkeypatch, Effort(note, stop)
    )
    assert seen[0]
    assert verdict.cut_short == ""
    assert (tmp_path / "preview.html").exists()


def test_a_second_ctrl_c_says_what_is_there(
    tmp_path: Path,
    request_and_draft: tuple[Request, ShotPlan],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    stop = threading.Event()

    def note(text: str) -> None:
        if stop.is_set():
            raise KeyboardInterrupt
        if text == "drafted":
            stop.set()

    with pytest.raises(KeyboardInterrupt, match=r"plan\.json holds the best plan so far"):
        _plan(tmp_path, request_and_draft, lambda: None, monkeypatch, Effort(note, stop))
    open_plan(tmp_path)


def test_a_ctrl_c_while_a_lost_plan_is_written_says_what_is_there(
    tmp_path: Path,
    request_and_draft: tuple[Request, ShotPlan],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def abandoned(*_: object, **__: object) -> NoReturn:
        raise KeyboardInterrupt

    monkeypatch.setattr("panelbeater.keeping.deliver", abandoned)
    with pytest.raises(KeyboardInterrupt, match=r"plan\.json holds the best plan so far"):
        _plan(tmp_path, request_and_draft, _killed, monkeypatch)
    open_plan(tmp_path)


def test_a_ctrl_c_before_a_draft_says_that_nothing_is_there(
    tmp_path: Path,
    request_and_draft: tuple[Request, ShotPlan],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def note(_: str) -> NoReturn:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt, match="nothing was written"):
        _plan(
            tmp_path, request_and_draft, lambda: None, monkeypatch, Effort(note),
            is_drafted=False,
        )  # fmt: skip
    assert not (tmp_path / "plan.json").exists()


def test_what_is_wrong_with_the_drawings_is_told_as_ever(
    tmp_path: Path,
    request_and_draft: tuple[Request, ShotPlan],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refuse() -> NoReturn:
        raise NoFoldError("the body leaks")

    with pytest.raises(NoFoldError, match="the body leaks"):
        _plan(tmp_path / "out", request_and_draft, refuse, monkeypatch, is_drafted=False)
    with contextlib.suppress(FileNotFoundError):
        assert list((tmp_path / "out").iterdir()) == []
