"""What the child that searches tells its parent, and how it ends."""

from __future__ import annotations

import errno
import os
import signal
import threading
from collections.abc import Callable, Iterator
from multiprocessing import Pipe
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from panelbeater import keeping
from panelbeater.animation import ShotPlan
from panelbeater.effort import Effort
from panelbeater.errors import NoFoldError
from panelbeater.keeping import Verdict
from panelbeater.shot import Request
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.timing import Schedule
from panelbeater.unfinished import plan_of
from tests.exports.small_rig import small_covers, small_rig

REQUEST = Request(Path("tug.svg"), Path("figure.svg"))
Said = list[tuple[str, Any]]


@pytest.fixture(autouse=True)
def _ctrl_c_as_before() -> Iterator[None]:
    before = signal.getsignal(signal.SIGINT)
    yield
    signal.signal(signal.SIGINT, before)


def _plan(proof: str, *, is_animated: bool = True) -> ShotPlan:
    rig, sample = small_rig()
    covers = small_covers()
    laid = Assignment(covers, 0.5, 0.6, proof, len(covers))
    return ShotPlan(rig, sample, laid, Schedule((), ""), is_animated=is_animated)


def _delivered(plan: ShotPlan, _: Effort) -> Verdict:
    return Verdict((plan.assignment.proof,), {})


def _said(
    search: Callable[..., ShotPlan], monkeypatch: pytest.MonkeyPatch, *, stop: bool = False
) -> Said:
    """All that the child says; it runs here, so that its end can be looked at."""
    here, theirs = Pipe()
    spare, _ = Pipe()
    before = threading.enumerate()
    monkeypatch.setattr(keeping, "plan_shot", search)
    monkeypatch.setattr(os, "_exit", lambda status: None)  # nobody is left to plan for
    if stop:
        here.send("stop")
    try:
        keeping._search(
            REQUEST,
            None,
            lambda plan, _: Verdict((plan.assignment.proof,), {}),
            theirs,
            spare,
        )
    finally:
        said = []
        while here.poll():
            said.append(here.recv())
        here.close()
        for thread in threading.enumerate():
            if thread not in before:  # it ends the process when its parent is gone
                thread.join()
    return said


def test_the_draft_each_better_layout_and_the_plan_are_handed_over_before_the_verdict(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def search(_: Request, effort: Effort, keep: Callable[..., None], __: None) -> ShotPlan:
        keep(_plan("a draft"))
        effort.note("looking on")
        keep(_plan("better", is_animated=False))
        return _plan("the best")

    said = _said(search, monkeypatch)
    assert [sort for sort, _ in said] == ["plan", "note", "plan", "plan", "done"]
    plans = [content for sort, content in said if sort == "plan"]
    assert [p["plan"]["assignment"]["proof"] for p in plans] == [
        "a draft", "better", "the best",
    ]  # fmt: skip
    assert [p["is_animated"] for p in plans] == [True, False, True]
    read = plan_of(plans[1])
    assert not read.is_animated
    assert np.array_equal(read.rig.depth, plans[1]["plan"]["depth"])
    assert said[-1][1].lines == ("the best",)
    assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN  # Ctrl-C is the parent's


def test_what_is_wrong_is_told_and_running_out_of_memory_is_a_status(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refuses(*_: object) -> ShotPlan:
        raise NoFoldError("the body leaks")

    ((sort, error),) = _said(refuses, monkeypatch)
    assert (sort, str(error)) == ("error", "the body leaks")
    assert isinstance(error, NoFoldError)

    def outgrows(*_: object) -> ShotPlan:
        raise MemoryError

    with pytest.raises(SystemExit) as ended:
        _said(outgrows, monkeypatch)
    assert ended.value.code == errno.ENOMEM


def test_the_child_stops_kindly_when_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def search(_: Request, effort: Effort, *__: object) -> ShotPlan:
        assert effort.stop.wait(20)
        return _plan("what there is")

    said = _said(search, monkeypatch, stop=True)
    assert said[-1][1].lines == ("what there is",)


def test_a_child_whose_parent_is_gone_ends_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    statuses: list[int] = []
    monkeypatch.setattr(os, "_exit", statuses.append)
    here, theirs = Pipe()
    stop = threading.Event()
    here.close()
    keeping._heed(theirs, stop)
    assert statuses == [1]
    assert not stop.is_set()


@pytest.mark.parametrize(
    ("status", "why", "words"),
    [
        (errno.ENOMEM, "", "memory ran out"),
        (-9, "", "killed by signal 9"),
        (1, "", "a fault of ours, status 1: please report it"),
        (-9, "it came to hold 2 GiB of memory", "raise --memory or simplify"),
    ],
)
def test_an_end_is_told_in_one_line(status: int, why: str, words: str) -> None:
    told = keeping._ending(status, why)
    assert words in told
    assert "\n" not in told
