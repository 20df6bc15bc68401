"""Still and moving pictures show the artwork, and nothing foreign gets into a file."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from panelbeater.errors import DrawingError
from panelbeater.exports import export_contact_sheet, export_moving_picture, export_rig_svg
from panelbeater.exports.artwork import safe_markup
from panelbeater.exports.compose import StillCamera, rasterise
from tests.exports.small_rig import small_rig


def test_a_still_paints_each_piece_where_its_outline_is() -> None:
    rig, sample = small_rig()
    camera = StillCamera(rig, sample)
    picture = np.asarray(camera.picture(0, 800), dtype=int)
    window = camera.window
    for x, y, colour in (
        (116, 95, "#bcdde0"),
        (110, 120, "#e0a458"),
        (148, 147, "#33383d"),
    ):
        column = round((x - window.x) / window.width * 800)
        row = round((y - window.y) / window.width * 800)
        wanted = [int(colour[k : k + 2], 16) for k in (1, 3, 5)]
        assert np.abs(picture[row, column] - wanted).max() <= 3


@pytest.mark.parametrize("width", [333, 472, 960])
def test_a_still_is_paper_to_its_very_edge(width: int) -> None:
    picture = np.asarray(StillCamera(*small_rig()).picture(0, width))
    edges = [picture[0], picture[-1], picture[: len(picture) // 2, 0]]
    assert (np.concatenate(edges) == picture[0, 0]).all()
    assert (picture[: len(picture) // 2, -1] == picture[0, 0]).all()
    assert tuple(picture[0, 0]) == (0xF1, 0xEE, 0xE6)


def test_a_film_is_its_stills_and_paints_what_stands_still_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rig, sample = small_rig()
    camera, painted = StillCamera(rig, sample), list[str]()

    def counted(svg: str, *, paper: str | None = None) -> Image.Image:
        painted.append(svg)
        return rasterise(svg, paper=paper)

    stills = [np.asarray(camera.picture(frame, 90)) for frame in range(24)]
    monkeypatch.setattr("panelbeater.exports.compose.rasterise", counted)
    film = camera.film(90)
    assert (film == np.stack(stills)).all()
    assert 1 < len(painted) == len({still.tobytes() for still in stills}) < 24


def test_the_window_holds_every_piece_of_every_frame() -> None:
    rig, sample = small_rig()
    sample.stage_from_piece[12, 4, :2, 2] = (-300.0, 20.0)
    window = StillCamera(rig, sample).window
    assert window.x < -300
    assert window.x + window.width > 178


def test_the_contact_sheet_is_wide_and_the_same_every_time(tmp_path: Path) -> None:
    rig, sample = small_rig()
    captions = {"coverage": "0.61", "own region": "0.52"}
    for name in ("one.png", "two.png"):
        export_contact_sheet(rig, sample, tmp_path / name, captions=captions)
    assert (tmp_path / "one.png").read_bytes() == (tmp_path / "two.png").read_bytes()
    with Image.open(tmp_path / "one.png") as sheet:
        assert sheet.width == 2008
        assert sheet.height > 1200


def test_a_shot_shorter_than_nine_frames_still_gets_its_sheet(tmp_path: Path) -> None:
    rig, sample = small_rig()
    short = sample.at([0, 1, 2])
    export_contact_sheet(rig, short, tmp_path / "sheet.png", captions={})
    assert (tmp_path / "sheet.png").stat().st_size > 10_000


@pytest.mark.parametrize("name", ["shot.gif", "shot.png"])
def test_the_moving_picture_plays_every_second_frame_and_holds_its_ends(
    tmp_path: Path, name: str
) -> None:
    rig, sample = small_rig()
    export_moving_picture(rig, sample, tmp_path / name, width_px=240)
    durations = []
    with Image.open(tmp_path / name) as picture:
        for frame in range(picture.n_frames):  # type: ignore[attr-defined]
            picture.seek(frame)
            durations.append(picture.info["duration"])
    assert sum(durations) == pytest.approx(900 + 1800 + 11 * 83, abs=60)
    assert durations[-1] >= 1800
    assert (tmp_path / name).stat().st_size < 200_000


@pytest.mark.parametrize(
    "markup",
    [
        "<script>alert(1)</script>",
        '<path d="M0 0" onclick="alert(1)"/>',
        '<image href="https://example.org/a.png"/>',
        '<path fill="url(https://example.org/a.svg#p)"/>',
        '<a xmlns:xlink="http://www.w3.org/1999/xlink" xlink:href="javascript:alert(1)"/>',
        "<foreignObject><iframe/></foreignObject>",
        "<style>@import 'x'</style>",
    ],
)
def test_artwork_that_runs_or_fetches_is_left_out(markup: str) -> None:
    safe = safe_markup(markup, owner="piece 'door'", keep_ids=False)
    for word in ("alert", "example", "iframe", "import"):
        assert word not in safe


def test_artwork_keeps_its_gradients_and_details() -> None:
    markup = '<g opacity=".5"><path id="a" fill="url(#d-shade)" d="M0 0h1"/></g>'
    safe = safe_markup(markup, owner="piece 'door'", keep_ids=False)
    assert safe == '<g opacity=".5"><path fill="url(#d-shade)" d="M0 0h1"></path></g>'


def test_broken_artwork_names_its_piece() -> None:
    with pytest.raises(DrawingError, match="piece 'door' is not well-formed"):
        safe_markup("<path d='M0 0", owner="piece 'door'", keep_ids=False)


def test_the_rig_file_is_small_and_says_what_it_is(tmp_path: Path) -> None:
    rig, sample = small_rig()
    export_rig_svg(rig, sample, tmp_path / "rig.svg")
    text = (tmp_path / "rig.svg").read_text()
    assert '<title id="title">Trolley stands up</title>' in text
    assert "seizures" in text
    assert "prefers-reduced-motion:reduce" in text
    assert len(text) < 80_000
