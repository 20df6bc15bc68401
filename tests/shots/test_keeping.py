"""Whatever befalls the search, the best plan so far is kept, and told in one line."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import NoReturn

import numpy as np
import pytest

from panelbeater.animation import ShotPlan
from panelbeater.effort import Effort
from panelbeater.errors import NoFoldError
from panelbeater.keeping import Verdict, plan_and_deliver
from panelbeater.library import Plan, open_plan
from panelbeater.rig import plan_to_json
from panelbeater.shot import Request, draft_shot, hide_body
from panelbeater.terms.timing import ShotOptions
from panelbeater.unfinished import UNFINISHED
from tests.shots.drawn import write_drawings

pytestmark = [
    pytest.mark.shot,
    pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="a fork is patched"),
]
Keep = Callable[[ShotPlan], None]
Drafted = tuple[Request, ShotPlan]


@pytest.fixture(scope="module")
def request_and_draft(tmp_path_factory: pytest.TempPathFactory) -> Drafted:
    """A small shot, and its first plan in draft."""
    folder = tmp_path_factory.mktemp("drawings")
    write_drawings(folder)
    shot = ShotOptions(n_frames=24, budget=0.1)
    request = Request(folder / "tractor.svg", folder / "figure.svg", shot=shot)
    return request, draft_shot(hide_body(request), shot)


def _plan(
    out: Path,
    request_and_draft: Drafted,
    ending: Callable[[], object],
    monkeypatch: pytest.MonkeyPatch,
    effort: Effort | None = None,
    *,
    is_drafted: bool = True,
    memory_gib: float | None = None,
) -> Verdict:
    """Plan with a search that hands over its draft, and then comes to this end."""
    request, draft = request_and_draft

    def search(_: Request, effort: Effort, keep: Keep, _so_far: object) -> ShotPlan:
        if is_drafted:
            keep(draft)
        effort.note("drafted")
        ending()
        effort.stop.wait(60)
        return draft

    monkeypatch.setattr("panelbeater.keeping.plan_shot", search)
    return plan_and_deliver(request, out, effort or Effort(), memory_gib=memory_gib)


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
    request_and_draft: Drafted,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    verdict = _plan(tmp_path / "out", request_and_draft, ending, monkeypatch)
    assert said in verdict.cut_short
    assert "\n" not in verdict.cut_short
    assert (tmp_path / "out" / "preview.html").exists()
    kept = open_plan(tmp_path / "out")
    assert kept.rig.tracks[0].piece == request_and_draft[1].rig.tracks[0].piece


def test_a_search_that_dies_before_a_draft_leaves_the_old_plan(
    tmp_path: Path, request_and_draft: Drafted, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "plan.json").write_text("an older plan", encoding="utf-8")
    with pytest.raises(MemoryError, match="killed by signal 9"):
        _plan(tmp_path, request_and_draft, _killed, monkeypatch, is_drafted=False)
    assert (tmp_path / "plan.json").read_text(encoding="utf-8") == "an older plan"
    assert [path.name for path in tmp_path.iterdir()] == ["plan.json"]


def test_the_plan_is_on_the_disk_as_soon_as_ctrl_c_is_pressed(
    tmp_path: Path, request_and_draft: Drafted, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen, stop = list[bool](), threading.Event()

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
    tmp_path: Path, request_and_draft: Drafted, monkeypatch: pytest.MonkeyPatch
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
    tmp_path: Path, request_and_draft: Drafted, monkeypatch: pytest.MonkeyPatch
) -> None:
    def abandoned(*_: object, **__: object) -> NoReturn:
        raise KeyboardInterrupt

    monkeypatch.setattr("panelbeater.keeping.deliver", abandoned)
    with pytest.raises(KeyboardInterrupt, match=r"plan\.json holds the best plan so far"):
        _plan(tmp_path, request_and_draft, _killed, monkeypatch)
    open_plan(tmp_path)


def test_a_ctrl_c_before_a_draft_says_that_nothing_is_there(
    tmp_path: Path, request_and_draft: Drafted, monkeypatch: pytest.MonkeyPatch
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
    tmp_path: Path, request_and_draft: Drafted, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse() -> NoReturn:
        raise NoFoldError("the body leaks")

    with pytest.raises(NoFoldError, match="the body leaks"):
        _plan(tmp_path / "out", request_and_draft, refuse, monkeypatch, is_drafted=False)
    with contextlib.suppress(FileNotFoundError):
        assert list((tmp_path / "out").iterdir()) == []


def _held_gib() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**30


def test_a_search_that_outgrows_its_memory_is_ended_and_leaves_its_draft(
    tmp_path: Path, request_and_draft: Drafted, monkeypatch: pytest.MonkeyPatch
) -> None:
    cap, most = _held_gib() + 0.25, tmp_path / "most"

    def grow() -> None:
        held: list[np.ndarray] = []
        while len(held) < 64:  # 2 GiB, were nobody to look
            held.append(np.ones(2**22))
            most.write_text(f"{_held_gib()}", encoding="ascii")
            time.sleep(0.02)

    verdict = _plan(tmp_path / "out", request_and_draft, grow, monkeypatch, memory_gib=cap)
    assert f"it came to hold {cap:g} GiB of memory" in verdict.cut_short
    assert "raise --memory" in verdict.cut_short
    assert cap - 0.1 < float(most.read_text(encoding="ascii")) < cap + 0.75
    assert (
        open_plan(tmp_path / "out").assignment.proof
        == request_and_draft[1].assignment.proof
    )


def _told(request: Request, out: Path, plan: ShotPlan, ending: Callable[[], object],
          monkeypatch: pytest.MonkeyPatch) -> tuple[Verdict, Plan | None]:  # fmt: skip
    """What a search says that hands over this plan and ends so, and what it began with."""
    begun_with = out.parent / "begun.json"

    def search(
        _: Request, _effort: Effort, keep: Keep, so_far: ShotPlan | None
    ) -> ShotPlan:
        if so_far:
            begun_with.write_text(json.dumps(plan_to_json(so_far.rig, so_far.assignment)))
        keep(plan)
        ending()
        return plan

    monkeypatch.setattr("panelbeater.keeping.plan_shot", search)
    begun_with.unlink(missing_ok=True)
    verdict = plan_and_deliver(request, out, Effort())
    return verdict, open_plan(begun_with) if begun_with.exists() else None


def _better(draft: ShotPlan) -> ShotPlan:
    """The draft with the first piece a little elsewhere, not yet animated."""
    first, *others = draft.assignment.covers
    there = first.stage_from_piece + [[0, 0, 0.5], [0, 0, 0], [0, 0, 0]]
    covers = (replace(first, stage_from_piece=there), *others)
    layout = replace(draft.assignment, covers=covers, proof="the best so far")
    return replace(draft, assignment=layout, is_animated=False)


Killed = tuple[Path, ShotPlan, Verdict]


@pytest.fixture
def killed(
    tmp_path: Path, request_and_draft: Drafted, monkeypatch: pytest.MonkeyPatch
) -> Killed:
    """Where a search was killed over a better layout, that layout, and what was said."""
    request, draft = request_and_draft
    better, out = _better(draft), tmp_path / "out"
    verdict, _ = _told(request, out, better, _killed, monkeypatch)
    return out, better, verdict


def test_a_better_layout_is_animated_when_its_search_is_killed(killed: Killed) -> None:
    out, better, verdict = killed
    assert "killed by signal 9" in verdict.cut_short
    plan = open_plan(out)
    assert plan.assignment.proof == "the best so far"
    last = plan.sample([23]).stage_from_piece[0, 0]
    assert np.allclose(last, better.assignment.covers[0].stage_from_piece)


def test_the_same_request_goes_on_from_what_was_kept_and_another_does_not(
    killed: Killed, request_and_draft: Drafted, monkeypatch: pytest.MonkeyPatch
) -> None:
    out, (request, draft) = killed[0], request_and_draft
    other = replace(request, shot=replace(request.shot, seed=2))
    kept = (out / UNFINISHED).read_bytes()
    verdict, begun = _told(other, out, draft, _killed, monkeypatch)
    assert (verdict.went_on, begun) == (False, None)
    (out / UNFINISHED).write_bytes(kept)
    verdict, begun = _told(request, out, draft, lambda: None, monkeypatch)
    assert verdict.went_on
    assert begun is not None
    assert begun.assignment.proof == "the best so far"
    assert not (out / UNFINISHED).exists()
    verdict, begun = _told(request, out, draft, lambda: None, monkeypatch)
    assert (verdict.went_on, begun) == (False, None)


@pytest.mark.parametrize("content", ["", "[]", '{"request": 1}', "{", "[" * 10**5])
def test_a_spoilt_unfinished_plan_is_as_good_as_none(
    content: str,
    tmp_path: Path,
    request_and_draft: Drafted,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    request, draft = request_and_draft
    (tmp_path / UNFINISHED).write_text(content, encoding="utf-8")
    verdict, begun = _told(request, tmp_path, draft, lambda: None, monkeypatch)
    assert (verdict.went_on, begun) == (False, None)
    assert (tmp_path / "preview.html").exists()
