"""What every open format keeps: its words, its bytes, its holds, and the artwork."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from panelbeater.exports import (
    export_apng,
    export_contact_pdf,
    export_exposure_pdf,
    export_gif,
    export_gltf,
    export_layers,
    export_lottie,
    export_png_sequence,
    export_rig_svg,
    export_smil_svg,
    export_video,
)
from panelbeater.exports.channels import join_turned, split_turned
from panelbeater.exports.marks import read_artwork
from panelbeater.exports.picture_sequence import frame_times_ms
from panelbeater.terms.drawing import Drawing
from panelbeater.terms.rig import Rig, Sample
from tests.exports.small_rig import small_drawing, small_rig

RIG, SAMPLE = small_rig(order_changes=True)
WARNED = "Mind the flashes."
Writer = Callable[[Rig, Sample, Path], object]


def _small(export: Callable[..., None]) -> Writer:
    return lambda rig, sample, path: export(rig, sample, path, width_px=120, caution=WARNED)


WRITERS: dict[str, Writer] = {
    "css.svg": lambda r, s, p: export_rig_svg(r, s, p, caution=WARNED),
    "smil.svg": lambda r, s, p: export_smil_svg(r, s, p, caution=WARNED),
    "shot.json": lambda r, s, p: export_lottie(r, s, p, caution=WARNED),
    "shot.glb": lambda r, s, p: export_gltf(r, s, p, caution=WARNED),
    "layers.svg": lambda r, s, p: export_layers(r, s, p, frame=0, caution=WARNED),
    "shot.apng": _small(export_apng),
    "shot.gif": _small(export_gif),
    "shot.mp4": _small(export_video),
    "shot.webm": _small(export_video),
    "exposure.pdf": lambda r, s, p: export_exposure_pdf(r, s, p, caution=WARNED),
    "contact.pdf": lambda r, s, p: export_contact_pdf(r, s, p, captions={}, caution=WARNED),
}
EXTRAS = {".mp4": "av", ".webm": "av", ".pdf": "fpdf"}


def write(name: str, folder: Path) -> bytes:
    ending = Path(name).suffix
    if ending in EXTRAS:
        pytest.importorskip(EXTRAS[ending], reason=f"{EXTRAS[ending]} is not installed")
    WRITERS[name](RIG, SAMPLE, folder / name)
    return (folder / name).read_bytes()


@pytest.mark.parametrize("name", WRITERS)
def test_the_same_shot_gives_the_same_bytes(tmp_path: Path, name: str) -> None:
    assert write(name, tmp_path / "one") == write(name, tmp_path / "two")


@pytest.mark.parametrize("name", [n for n in WRITERS if not n.endswith(".pdf")])
def test_every_format_carries_title_rate_and_caution(tmp_path: Path, name: str) -> None:
    words = write(name, tmp_path)
    assert RIG.shot.title.encode() in words or name == "shot.gif"
    assert WARNED.encode() in words
    assert re.search(rb'24 (frames )?at 24 a second|"(fps|fr)": ?24\b', words)


def test_the_printed_sheets_carry_title_and_caution(tmp_path: Path) -> None:
    fpdf = pytest.importorskip("fpdf", reason="fpdf2 is not installed")
    assert fpdf.FPDF is not None
    export_exposure_pdf(RIG, SAMPLE, tmp_path / "sheet.pdf")
    plain = (tmp_path / "sheet.pdf").read_bytes()
    export_exposure_pdf(RIG, SAMPLE, tmp_path / "sheet.pdf", caution=WARNED)
    assert (tmp_path / "sheet.pdf").read_bytes() != plain
    assert b"/Title (" in plain


def test_a_shorter_shot_takes_old_frames_away(tmp_path: Path) -> None:
    for left_over in ("frame-0099.png", "frame-note.png"):
        (tmp_path / left_over).write_bytes(b"old")
    export_png_sequence(RIG, SAMPLE, tmp_path, width_px=60)
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {"frame-note.png", *(f"frame-{k:04d}.png" for k in range(1, 25))}


@pytest.mark.parametrize(("fps", "grid"), [(24, 10), (24, 1), (12, 10), (60, 10), (7, 1)])
def test_frame_times_never_drift_from_the_shot(fps: int, grid: int) -> None:
    rig = replace(RIG, shot=replace(RIG.shot, fps=fps))
    times = np.cumsum(frame_times_ms(rig, grid_ms=grid))
    exact = 1000 * np.arange(1, RIG.shot.n_frames + 1) / fps
    assert np.abs(times - exact).max() <= grid / 2 + 1e-9


@given(
    st.lists(
        st.tuples(*[st.floats(-3, 3)] * 4).filter(
            lambda m: abs(m[0] * m[3] - m[1] * m[2]) > 0.1
        ),
        min_size=1,
        max_size=6,
    )
)
def test_turn_stretch_turn_says_any_transform(
    rows: list[tuple[float, float, float, float]],
) -> None:
    transforms = np.tile(np.eye(3), (len(rows), 1, 1))
    transforms[:, :2, :2] = np.array(rows).reshape(-1, 2, 2)
    transforms[:, :2, 2] = 7.0
    assert join_turned(split_turned(transforms)) == pytest.approx(transforms, abs=1e-9)


def test_a_steady_slant_keeps_its_axis() -> None:
    """A stretch that grows along one slant needs one inner turn, not a key a frame."""
    axis, grow = 0.6, np.linspace(1.0, 1.3, 12)
    turn = np.array([[np.cos(axis), -np.sin(axis)], [np.sin(axis), np.cos(axis)]])
    transforms = np.tile(np.eye(3), (12, 1, 1))
    for k, share in enumerate(grow):
        transforms[k, :2, :2] = turn @ np.diag([share, 1.0]) @ turn.T
    inner = split_turned(transforms)[:, 3]
    assert np.ptp(inner) < 1e-9


def test_a_lottie_file_on_twos_holds_every_drawing(tmp_path: Path) -> None:
    rig, sample = small_rig(exposure=2)
    export_lottie(rig, sample, tmp_path / "shot.json")
    layers = json.loads((tmp_path / "shot.json").read_text())["layers"]
    moving = [layer["ks"]["p"] for layer in layers if layer["ks"]["p"]["a"]]
    assert len(moving) > 5
    for place in moving:
        assert all(key.get("h") == 1 for key in place["k"][:-1])
        assert [key["t"] for key in place["k"]] == [*range(0, 24, 2), 23]


def drawn(artwork: str, defs: str = "") -> Drawing:
    drawing = small_drawing()
    first = replace(drawing.pieces[0], artwork=artwork)
    return replace(drawing, pieces=(first,), defs=defs)


def test_a_clipped_shape_becomes_the_part_that_shows() -> None:
    clip = '<clipPath id="c"><path d="M0 0H10V5H0Z"/></clipPath>'
    art = '<g clip-path="url(#c)"><path d="M0 0H10V10H0Z" fill="#ff0000"/></g>'
    (mark,) = read_artwork(drawn(art, clip)).pieces[0]
    corners = np.concatenate([stroke.control() for stroke in mark.strokes])
    assert corners.max(axis=0) == pytest.approx([10, 5], abs=1e-3)


def test_a_stroke_keeps_its_pen_and_a_skewed_one_becomes_an_area() -> None:
    line = '<path d="M0 0H10" stroke="#00ff00" stroke-width="2" fill="none"{}/>'
    (even,) = read_artwork(drawn(line.format(' transform="rotate(30) scale(2)"'))).pieces[0]
    assert even.pen is not None
    assert even.pen.width == pytest.approx(4)
    (skewed,) = read_artwork(drawn(line.format(' transform="scale(1 3)"'))).pieces[0]
    assert skewed.pen is None
    corners = np.concatenate([stroke.control() for stroke in skewed.strokes])
    assert np.ptp(corners, axis=0) == pytest.approx([10, 6], abs=1e-3)


def test_what_a_format_cannot_say_is_noted() -> None:
    art = '<path d="M0 0H9V9Z"/><text x="1" y="2">STOP</text>'
    (note,) = read_artwork(drawn(art)).notes
    assert note.startswith("tub: text is left out")


def test_layers_name_every_piece_bone_and_pivot(tmp_path: Path) -> None:
    export_layers(RIG, SAMPLE, tmp_path / "robot.svg", frame=23)
    text = (tmp_path / "robot.svg").read_text()
    for piece in RIG.drawing.pieces:
        assert f'id="piece-{piece.id}"' in text
        assert f'id="pivot-piece-{piece.id}"' in text
    for bone in RIG.figure.bones:
        assert f'<line id="{bone.id}"' in text
        assert f'id="pivot-{bone.id}"' in text
