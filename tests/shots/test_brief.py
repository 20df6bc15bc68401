"""The brief is read whole, and every mistake in it is one line with its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from panelbeater.brief import read_brief
from panelbeater.errors import DrawingError
from panelbeater.terms.drawing import Wishes
from panelbeater.terms.timing import ShotOptions

DRAWINGS = 'vehicle = "lorry.svg"\nfigure = "hand.svg"\n'


def _brief(folder: Path, text: str) -> Path:
    path = folder / "brief.toml"
    path.write_text(text, encoding="utf-8")
    return path


def _complaints(folder: Path, text: str) -> list[str]:
    with pytest.raises(DrawingError) as caught:
        read_brief(_brief(folder, text))
    assert caught.value.exit_status == 2
    return str(caught.value).splitlines()


def test_a_full_brief_is_a_full_request(tmp_path: Path) -> None:
    text = DRAWINGS + (
        'pieces = "lists/pieces.csv"\ntitle = "Quay"\nframes = 96\nfps = 12\nexposure = 2\n'
        "seed = 7\nbudget = 2.5\nfigure_height = 120\n"
        '[pin]\n"door.1" = "torso"\nhood = "head"\n[ban]\nhood = ["foot_l", "foot_r"]\n'
    )
    request = read_brief(_brief(tmp_path, text))
    assert request.vehicle == tmp_path / "lorry.svg"
    assert request.figure == tmp_path / "hand.svg"
    assert request.piece_list == tmp_path / "lists/pieces.csv"
    assert request.figure_height == 120
    assert request.shot == ShotOptions(96, 12, 2, 7, 2.5, "Quay")
    assert request.wishes == {
        "door.1": Wishes("torso", ()), "hood": Wishes("head", ("foot_l", "foot_r")),
    }  # fmt: skip


def test_two_drawings_are_brief_enough(tmp_path: Path) -> None:
    request = read_brief(_brief(tmp_path, DRAWINGS))
    assert request.shot == ShotOptions(title="brief")
    assert request.piece_list is None
    assert request.wishes == {}


@pytest.mark.parametrize(
    ("text", "complaint"),
    [
        ("framse = 24\n", "brief.toml:3: unknown key 'framse'; did you mean 'frames'?"),
        ("colour = 3\n", "brief.toml:3: unknown key 'colour'; known keys: vehicle, figure"),
        ("\n\nframes = 3\n", "brief.toml:5: frames: "),
        ('fps = "fast"\n', "brief.toml:3: fps: "),
        ("budget = -1\n", "brief.toml:3: budget: "),
        ("[pin]\nhood = 4\n", "brief.toml:4: pin.hood: "),
        ('[ban]\nhood = "head"\n', "brief.toml:4: ban.hood: "),
        ("[limits]\nloudness = 3\n", "brief.toml:4: limits: no threshold 'loudness'; "),
        ('[pin]\nhood = "hed"\n',
         "brief.toml:4: pin: piece 'hood' names no region 'hed'; did you mean 'head'?"),
        ('[ban]\nhood = ["knee"]\n',
         "brief.toml:4: ban: piece 'hood' names no region 'knee'"),
        ('[pin]\nhood = "head"\n[ban]\nhood = ["waist", "head"]\n',
         "brief.toml:4: piece 'hood' is pinned to head and banned from it; drop one"),
    ],
)  # fmt: skip
def test_a_mistake_is_one_line_with_its_place(
    tmp_path: Path, text: str, complaint: str
) -> None:
    (line,) = _complaints(tmp_path, DRAWINGS + text)
    assert line.startswith(complaint)


def test_a_brief_without_a_vehicle_is_told_so(tmp_path: Path) -> None:
    (line,) = _complaints(tmp_path, 'figure = "hand.svg"\n')
    assert line.startswith("brief.toml: the brief must say vehicle")


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    lines = _complaints(tmp_path, DRAWINGS + "framse = 24\nfps = 0\nseed = -1\n")
    assert sorted(line.split(":")[1] for line in lines) == ["3", "4", "5"]


def test_text_that_is_no_toml_is_told_with_its_line(tmp_path: Path) -> None:
    (line,) = _complaints(tmp_path, DRAWINGS + "frames = \n")
    assert line.startswith("brief.toml:3:")


def test_a_brief_that_is_not_there_or_not_text_is_one_line(tmp_path: Path) -> None:
    with pytest.raises(DrawingError, match="No such file"):
        read_brief(tmp_path / "nothing.toml")
    path = tmp_path / "picture.toml"
    path.write_bytes(b"\x89PNG\xff\xfe")
    with pytest.raises(DrawingError, match="UTF-8"):
        read_brief(path)


def test_a_brief_asks_for_cover_and_changes_habits(tmp_path: Path) -> None:
    text = (
        'vehicle = "v.svg"\nfigure = "f.svg"\n'
        "[cover]\nshank = 0.8\nshank_l = 0.5\ntorso = 0.9\n"
        "[habits.wheel]\nupper_arm = 0.2\n"
    )
    path = tmp_path / "shot.toml"
    path.write_text(text)
    asked = read_brief(path).asked
    assert asked.cover == {"torso": 0.9, "shank_l": 0.5, "shank_r": 0.8}
    assert asked.habits == {"wheel": {"upper_arm": 0.2}}


def test_a_brief_says_what_a_piece_goes_round(tmp_path: Path) -> None:
    path = tmp_path / "shot.toml"
    head = 'vehicle = "v.svg"\nfigure = "f.svg"\n[clear]\n'
    path.write_text(f'{head}door = ["hood", "arm_l", "hood"]\n')
    assert read_brief(path).asked.clear == {"door": ("hood", "arm_l")}
    path.write_text(f'{head}door = ["door"]\n')
    with pytest.raises(DrawingError, match=r"shot\.toml:4: clear: .* itself"):
        read_brief(path)


def test_cover_and_habits_that_cannot_be_meant_are_all_told(tmp_path: Path) -> None:
    text = (
        'vehicle = "v.svg"\nfigure = "f.svg"\n'
        "[cover]\ntorso = 90\n[habits.wheel]\nshnak = 0.1\n[habits.door]\ntorso = 0.1\n"
    )
    path = tmp_path / "shot.toml"
    path.write_text(text)
    with pytest.raises(DrawingError) as caught:
        read_brief(path)
    told = str(caught.value)
    assert "shot.toml:4: cover: torso = 90: give 0 to 1" in told
    assert "habits.wheel: no 'shnak'; did you mean 'shank'?" in told
    assert "habits: no 'door'" in told
