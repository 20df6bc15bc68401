"""Alternates are whole plans, and their pages know of each other."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from panelbeater import offer
from panelbeater.assignment import Alternate
from panelbeater.shot import Request
from tests.shots.test_handover import shot_plan

REQUEST = Request(Path("lorry.svg"), Path("robot.svg"))
FLASHING = 2


@pytest.fixture(scope="module")
def ideas(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three alternates of the trolley, the second of which flashes."""
    out = tmp_path_factory.mktemp("ideas")
    plans = [shot_plan(flashing=number == FLASHING) for number in (1, 2, 3)]
    offered = [(Alternate("an idea", plan.assignment, 0.01, 2), plan) for plan in plans]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(offer, "plan_alternates", lambda *_: iter(offered))
        rows = offer.offer_alternates(REQUEST, out, n_alternates=3)
    assert [row["number"] for row in rows] == [1, 2, 3]
    return out


def _alternates(page: Path) -> Any:
    text = page.read_text(encoding="utf-8")
    block = text.split('<script type="application/json" id="shot">')[1]
    return json.loads(block.split("</script>")[0])["alternates"]


@pytest.mark.parametrize(("own", "other"), [(1, 3), (3, 1)])
def test_each_preview_shows_the_others_and_leads_to_them(
    ideas: Path, own: int, other: int
) -> None:
    page = ideas / str(own) / "preview.html"
    found = _alternates(page)
    assert not found["isOpen"]
    links = {plan["number"]: plan.get("page") for plan in found["plans"]}
    assert links == {own: None, other: f"../{other}/preview.html"}
    assert (page.parent / f"../{other}/preview.html").is_file()


def test_the_page_to_choose_from_opens_with_all_of_them(ideas: Path) -> None:
    found = _alternates(ideas / "alternates.html")
    assert found["isOpen"]
    assert [plan.get("page") for plan in found["plans"]] == [None, "3/preview.html"]


def test_an_alternate_that_flashes_moves_on_no_page(ideas: Path) -> None:
    assert "<script" not in (ideas / str(FLASHING) / "preview.html").read_text()
    rows = json.loads((ideas / "alternates.json").read_text())
    assert len(rows) == 3
