"""A broken promise is shown: its frame, its pieces lit, a ring round the place."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from PIL import Image, ImageColor

from panelbeater.exports import Fault, StillCamera, export_faults
from panelbeater.exports.compose import LIT_EDGE
from panelbeater.exports.faults import CELL_PX, GAP_PX, N_SHOWN
from tests.exports.small_rig import small_rig

FAULT = Fault("float: lamp floats free of the body", 11, ("lamp",), (30.0, 40.0))


def lit_pixels(path: Path) -> np.ndarray:
    """Rows and columns of all pixels in the colour of light."""
    pixels = np.asarray(Image.open(path).convert("RGB"), dtype=np.int64)
    return np.argwhere(np.abs(pixels - ImageColor.getrgb(LIT_EDGE)).sum(axis=2) < 30)


def test_the_ring_lies_round_the_place(tmp_path: Path) -> None:
    rig, sample = small_rig()
    path = tmp_path / "broken.png"
    export_faults(rig, sample, path, [replace(FAULT, pieces=())])
    window = StillCamera(rig, sample).window
    share = (np.array(FAULT.at) - [window.x, window.y]) / window.width
    expected = GAP_PX + share * CELL_PX
    found = lit_pixels(path)
    middle = (found.min(axis=0) + found.max(axis=0)) / 2
    assert np.abs(middle[::-1] - expected).max() <= 2


def test_the_pieces_at_fault_are_lit(tmp_path: Path) -> None:
    rig, sample = small_rig()
    path = tmp_path / "broken.png"
    counts: list[int] = []
    for pieces in (("bone torso",), ("lamp",), ("lamp", "tub")):
        export_faults(rig, sample, path, [replace(FAULT, pieces=pieces, at=None)])
        pixels = np.asarray(Image.open(path).convert("L"), dtype=np.int64)
        counts.append(int((pixels < 90).sum()))  # a veil of paper lies over all else
    assert counts[0] < counts[1] < counts[2]


def test_a_sheet_shows_no_more_than_can_be_looked_at(tmp_path: Path) -> None:
    rig, sample = small_rig()
    path = tmp_path / "broken.png"
    sizes = []
    for n in (1, N_SHOWN, N_SHOWN + 5):
        export_faults(rig, sample, path, [FAULT] * n)
        with Image.open(path) as sheet:
            sizes.append(sheet.size)
    assert sizes[0] < sizes[1] == sizes[2]


def test_where_all_is_kept_an_earlier_sheet_is_taken_away(tmp_path: Path) -> None:
    rig, sample = small_rig()
    path = tmp_path / "broken.png"
    export_faults(rig, sample, path, [])
    export_faults(rig, sample, path, [FAULT])
    assert path.exists()
    export_faults(rig, sample, path, [])
    assert not path.exists()
