"""The gallery is whole, small, and still runs."""

from __future__ import annotations

import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageSequence

from panelbeater.scores import measure_flashes

HOME = Path(__file__).parents[2]
GALLERY = HOME / "gallery"
SCRIPTS = sorted(GALLERY.glob("[0-9][0-9]_*.py"))
MOVING = GALLERY / "crane-lorry.png"
LINKED = re.compile(r"!\[(?P<words>[^\]]*)\]\((?P<path>[^)]+)\)")
MOST_LINES, WIDEST_PX = 40, 900
PICTURE_BYTES, MOVING_BYTES, ALL_BYTES = 250_000, 2_000_000, 5_000_000


def kept() -> list[Path]:
    """What belongs to the repository: plans in out/ and caches do not."""
    passing = {"out", "__pycache__"}
    return sorted(
        path
        for path in GALLERY.rglob("*")
        if path.is_file() and not passing & set(path.relative_to(GALLERY).parts)
    )


def still_pictures() -> list[Path]:
    return [path for path in kept() if path.suffix == ".png" and path != MOVING]


def test_entries_are_numbered_without_a_gap() -> None:
    numbers = [int(script.name[:2]) for script in SCRIPTS]
    assert numbers == list(range(1, len(SCRIPTS) + 1))
    assert len(SCRIPTS) >= 7


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: script.stem)
def test_an_entry_is_short_and_has_a_picture_and_a_paragraph(script: Path) -> None:
    n_lines = len(script.read_text(encoding="utf-8").splitlines())
    assert n_lines <= MOST_LINES, f"{n_lines} lines"
    page = (GALLERY / "README.md").read_text(encoding="utf-8")
    assert f"({script.name})" in page
    pictures = [path for path in still_pictures() if path.parent.name == script.stem]
    assert pictures
    shown = {GALLERY / match["path"] for match in LINKED.finditer(page)}
    assert any(path in shown for path in pictures)


def test_the_pages_show_only_pictures_that_exist_and_say_what_they_are() -> None:
    for page in (HOME / "README.md", GALLERY / "README.md"):
        links = list(LINKED.finditer(page.read_text(encoding="utf-8")))
        assert links
        for link in links:
            assert (page.parent / link["path"]).is_file(), link["path"]
            assert link["words"].strip(), link["path"]


def test_pictures_are_small_enough_for_a_repository() -> None:
    for path in still_pictures():
        assert path.stat().st_size <= PICTURE_BYTES, path.name
        with Image.open(path) as picture:
            assert picture.width <= WIDEST_PX, path.name
    assert MOVING.stat().st_size <= MOVING_BYTES
    assert sum(path.stat().st_size for path in kept()) <= ALL_BYTES


def test_the_moving_picture_moves_and_does_not_flash() -> None:
    stills, steps_ms = [], []
    with Image.open(MOVING) as picture:
        small = (160, round(160 * picture.height / picture.width))
        for still in ImageSequence.Iterator(picture):
            stills.append(np.asarray(still.convert("RGB").resize(small)))
            steps_ms.append(still.info["duration"])
    assert len(stills) > 20
    changed = [(now != then).any() for then, now in pairwise(stills)]
    assert all(changed)
    # Both ends are held; the steps between are even.
    assert not measure_flashes(np.stack(stills), 1000 / steps_ms[1]).fails


@pytest.mark.shot
@pytest.mark.slow
def test_a_script_runs_in_a_folder_of_its_own(tmp_path: Path) -> None:
    script = GALLERY / "05_a_tight_fold.py"
    before = {path: path.stat().st_mtime_ns for path in kept()}
    ran = subprocess.run(
        [sys.executable, "-B", str(script), str(tmp_path), "0.1"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    picture = tmp_path / script.stem / "fold.png"
    assert str(picture) in ran.stdout
    with Image.open(picture) as shown:
        assert shown.width <= WIDEST_PX
        assert len(shown.getcolors() or ()) > 8  # more than bare paper
    assert {path: path.stat().st_mtime_ns for path in kept()} == before
