"""Broken and hostile files end in one clear line."""

from __future__ import annotations

from pathlib import Path

import pytest

from panelbeater.drawing import read_drawing
from panelbeater.errors import DrawingError
from tests.drawing.sheets import NAMESPACES, sheet

SVG = f"<svg {NAMESPACES}"


def refusal(path: Path) -> str:
    """The message with which a file is refused: one line that starts with its name."""
    with pytest.raises(DrawingError) as caught:
        read_drawing(path)
    text = str(caught.value)
    assert text.startswith("lorry.svg: ")
    assert "\n" not in text
    return text


@pytest.mark.parametrize(
    ("content", "word"),
    [
        ("", "empty"),
        ("  \n", "empty"),
        (f"{SVG}>\n<g><rect/>", "line 2"),
        ("not a drawing", "broken"),
        ("<html/>", "not an SVG"),
        ("\x1f\x8b\x08", "compressed"),
        (f"{SVG}/>", "no filled or stroked shapes"),
        (f'{SVG}><rect width="0" height="9"/></svg>', "no filled or stroked shapes"),
        (
            '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]><svg>&x;</svg>',
            "outside the file",
        ),
        (
            '<!DOCTYPE svg [<!ENTITY a "ha"><!ENTITY b "&a;&a;">]><svg>&b;</svg>',
            "entity 'b'",
        ),
        (SVG + ">" + "<g>" * 300 + "</g>" * 300 + "</svg>", "deeper than 256"),
        (SVG + ">" + "<g/>" * 100_001 + "</svg>", "more than 100000 elements"),
    ],
)
def test_a_bad_file_is_refused_in_one_line(content: str, word: str, tmp_path: Path) -> None:
    path = tmp_path / "lorry.svg"
    path.write_bytes(content.encode("latin-1"))
    assert word in refusal(path)


@pytest.mark.parametrize(
    "element",
    [
        '<path id="door" d="M0 0L NaN 5z"/>',
        '<path id="door" d="M0 0L 1e999 5z"/>',
        '<circle id="door" cx="inf" r="5"/>',
        '<rect id="door" x="2e7" width="5" height="5"/>',
        '<polygon id="door" points="0,0 1,nan 5,5"/>',
        '<rect id="door" width="5" height="5" transform="scale(1e6)"/>',
        '<rect id="door" width="5" height="5" transform="spin(4)"/>',
    ],
)
def test_absurd_coordinates_name_the_element_and_line(element: str, tmp_path: Path) -> None:
    text = refusal(sheet(tmp_path, f"\n{element}"))
    assert "'door'" in text
    assert "line 2" in text


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    assert "cannot be opened" in refusal(tmp_path / "lorry.svg")


def test_copies_of_copies_do_not_run_away(tmp_path: Path) -> None:
    levels = "".join(
        f'<g id="a{k}">' + f'<use href="#a{k - 1}"/>' * 10 + "</g>" for k in range(1, 9)
    )
    body = f'<defs><rect id="a0" width="5" height="5"/>{levels}</defs><use href="#a8"/>'
    assert "never end" in refusal(sheet(tmp_path, body))


def test_a_copy_of_itself_is_refused(tmp_path: Path) -> None:
    assert "copy of itself" in refusal(sheet(tmp_path, '<g id="a"><use href="#a"/></g>'))


def test_a_clip_path_that_clips_itself_is_refused(tmp_path: Path) -> None:
    body = (
        '<clipPath id="c" clip-path="url(#c)"><rect width="5" height="5"/></clipPath>'
        '<rect width="9" height="9" clip-path="url(#c)"/>'
    )
    assert "clips itself" in refusal(sheet(tmp_path, body))


def test_nested_bounding_box_clips_stay_quick(tmp_path: Path) -> None:
    clip = (
        '<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width="1" height="1"/>'
        "</clipPath>"
    )
    body = (
        clip + '<g clip-path="url(#c)">' * 60 + '<rect width="9" height="9"/>' + "</g>" * 60
    )
    assert len(read_drawing(sheet(tmp_path, body)).pieces) == 1
