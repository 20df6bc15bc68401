"""The piece list says what was inferred, and the animator's corrections hold."""

from __future__ import annotations

from pathlib import Path

import pytest

from panelbeater.drawing import (
    apply_piece_list,
    cut_to_size,
    read_drawing,
    write_piece_list,
)
from panelbeater.errors import DrawingError
from panelbeater.terms.drawing import Drawing, Piece
from tests.drawing.sheets import sheet

LORRY = (
    '<rect id="door" x="10" y="20" width="80" height="40" fill="#c33"/>'
    '<circle id="wheel_a" cx="25" cy="60" r="12"/>'
    '<circle id="wheel_b" cx="75" cy="60" r="12"/>'
    '<circle id="wheel_c" cx="50" cy="60" r="12"/>'
)
HEAD = (
    "piece,kind,signature,mirror,pin,ban,scale_min,scale_max,dip_min,stretch_max,cut,stow"
)


def lorry(tmp_path: Path) -> Drawing:
    return read_drawing(sheet(tmp_path, LORRY))


def applied(tmp_path: Path, text: str, drawing: Drawing | None = None) -> dict[str, Piece]:
    path = tmp_path / "pieces.csv"
    path.write_text(text, encoding="utf-8")
    changed = apply_piece_list(drawing or lorry(tmp_path), path)
    return {piece.id: piece for piece in changed.pieces}


def problems(tmp_path: Path, text: str) -> list[str]:
    with pytest.raises(DrawingError) as caught:
        applied(tmp_path, text)
    return str(caught.value).split("\n")


def facts(drawing: Drawing) -> list[object]:
    return [
        (p.id, p.kind, p.signature, p.mirror, p.wishes, p.allowance) for p in drawing.pieces
    ]


def test_a_written_list_reads_back_unchanged(tmp_path: Path) -> None:
    drawing = cut_to_size(lorry(tmp_path), largest_area=1000, longest=60, min_pieces=1)
    path = tmp_path / "pieces.csv"
    write_piece_list(drawing, path)
    assert path.read_text().startswith(HEAD + ",bend_max,redrawn\n")
    assert facts(apply_piece_list(drawing, path)) == facts(drawing)


def test_every_column_overrides_what_was_inferred(tmp_path: Path) -> None:
    pieces = applied(
        tmp_path, f"{HEAD}\ndoor,bumper,yes,,torso,head hand_l,0.5,1.5,0.4,1.2,no\n"
    )
    door = pieces["door"]
    assert (door.kind, door.signature) == ("bumper", True)
    assert (door.wishes.pin, door.wishes.bans) == ("torso", ("head", "hand_l"))
    assert door.allowance.scale_min == 0.5
    assert door.allowance.stretch_max == 1.2


def test_a_piece_may_be_stowed_when_its_row_says_so_but_not_when_pinned(
    tmp_path: Path,
) -> None:
    assert applied(tmp_path, "piece,stow\ndoor,yes\n")["door"].wishes.stow
    assert not applied(tmp_path, "piece,stow\ndoor,no\n")["door"].wishes.stow
    (told,) = problems(tmp_path, "piece,pin,stow\ndoor,torso,yes\n")
    assert "pinned to torso and may be stowed; delete one of the two" in told


def test_empty_cells_and_missing_columns_keep_what_was_inferred(tmp_path: Path) -> None:
    before = lorry(tmp_path)
    assert (
        facts(before)[1:]
        == facts(
            apply_piece_list(before, written(tmp_path, "piece,pin\ndoor,torso\nwheel_a,\n"))
        )[1:]
    )


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "pieces.csv"
    path.write_text(text)
    return path


def test_a_row_for_the_whole_holds_for_its_parts_unless_they_have_their_own(
    tmp_path: Path,
) -> None:
    cut = cut_to_size(lorry(tmp_path), largest_area=1700, longest=60, min_pieces=1)
    pieces = applied(tmp_path, "piece,pin\ndoor.2,head\ndoor,torso\n", cut)
    assert pieces["door.1"].wishes.pin == "torso"
    assert pieces["door.2"].wishes.pin == "head"


def test_a_row_for_a_part_not_made_this_time_is_ignored_and_said(tmp_path: Path) -> None:
    drawing = apply_piece_list(
        lorry(tmp_path), written(tmp_path, "piece,pin\ndoor.7,torso\n")
    )
    assert any("door.7" in text for text in drawing.warnings)


def test_a_listed_mirror_holds_both_ways_and_frees_the_old_partner(tmp_path: Path) -> None:
    pieces = applied(tmp_path, "piece,mirror\nwheel_a,wheel_c\n")
    assert pieces["wheel_a"].mirror == "wheel_c"
    assert pieces["wheel_c"].mirror == "wheel_a"
    assert pieces["wheel_b"].mirror is None


def test_none_parts_a_pair(tmp_path: Path) -> None:
    pieces = applied(tmp_path, "piece,mirror\nwheel_a,none\n")
    assert pieces["wheel_a"].mirror is None
    assert pieces["wheel_b"].mirror is None


def test_tables_saved_with_semicolons_and_a_mark_are_read(tmp_path: Path) -> None:
    assert (
        applied(tmp_path, "\ufeffpiece;pin\r\ndoor;torso\r\n")["door"].wishes.pin == "torso"
    )


def test_kinds_of_the_list_spare_wheels_from_cutting(tmp_path: Path) -> None:
    rows = written(tmp_path, "piece,kind\ndoor,wheel\n")
    drawing = read_drawing(sheet(tmp_path, LORRY), piece_list=rows)
    cut = cut_to_size(drawing, largest_area=100, longest=10, min_pieces=1, piece_list=rows)
    assert len(cut.pieces) == 4


def test_a_lower_smallest_scale_lowers_the_dip_with_it(tmp_path: Path) -> None:
    assert applied(tmp_path, "piece,scale_min\ndoor,0.3\n")["door"].allowance.dip_min == 0.3


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("dor,,,,,,,,,,", "no piece 'dor'; did you mean 'door'?"),
        ("door,wheal,,,,,,,,,", "no kind 'wheal'; did you mean 'wheel'?"),
        ("door,,maybe,,,,,,,,", "signature is 'maybe'; write yes or no"),
        ("door,,,,,,,,,,perhaps", "cut is 'perhaps'; write yes or no"),
        ("door,,,door,,,,,,,", "is its own mirror"),
        ("door,,,wheel_d,,,,,,,", "no piece 'wheel_d' for mirror; did you mean 'wheel_"),
        ("door,,,,tors,,,,,,", "no region 'tors' for pin; did you mean 'torso'?"),
        ("door,,,,,hed,,,,,", "no region 'hed' for ban; did you mean 'head'?"),
        ("door,,,,head,waist head,,,,,", "pinned to head and banned from it"),
        ("door,,,,,,big,,,,", "scale_min is 'big'; write a number from 0.05 to 1"),
        ("door,,,,,,nan,,,,", "scale_min is 'nan'"),
        ("door,,,,,,,0.5,,,", "scale_max is '0.5'; write a number from 1 to 20"),
        ("door,,,,,,0.5,,0.6,,", "dip_min 0.6 is above scale_min 0.5"),
        ("door,,,,,,,,,0.9,", "stretch_max is '0.9'"),
        (",wheel,,,,,,,,,", "no piece is named"),
    ],
)
def test_a_wrong_row_is_named_with_its_line(row: str, words: str, tmp_path: Path) -> None:
    (text,) = problems(tmp_path, f"{HEAD}\nwheel_a,,,,,,,,,,\n{row}\n")
    assert text.startswith("pieces.csv: line 3: ")
    assert words in text


def test_all_problems_are_told_at_once(tmp_path: Path) -> None:
    found = problems(
        tmp_path,
        f"{HEAD}\ndoor,,,,head,head,x,,,,\nwheel_a,round,,,,,,,,,\nwheel_a,,,,,,,,,,\n",
    )
    assert [text.split(":")[1] for text in found] == [
        " line 2",
        " line 2",
        " line 3",
        " line 4",
    ]
    assert "listed twice, first on line 3" in found[-1]


def test_a_wrong_row_for_a_whole_is_told_once(tmp_path: Path) -> None:
    cut = cut_to_size(lorry(tmp_path), largest_area=1000, longest=60, min_pieces=1)
    with pytest.raises(DrawingError) as caught:
        applied(tmp_path, "piece,pin\ndoor,tors\n", cut)
    assert str(caught.value).count("\n") == 0


def test_mirrors_that_disagree_are_told(tmp_path: Path) -> None:
    found = problems(tmp_path, "piece,mirror\nwheel_a,wheel_b\nwheel_b,wheel_c\n")
    assert any("'wheel_b' answers 'wheel_c'; let both rows agree" in text for text in found)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "line 1: the first line must name the columns"),
        ("kind,pin\nwheel,head\n", "line 1: the first line must name the columns"),
        ("piece,knid\ndoor,wheel\n", "no column 'knid'; did you mean 'kind'?"),
        ('piece,kind\n"door,wheel\n', "line 2"),
    ],
)
def test_a_broken_table_is_refused(content: str, words: str, tmp_path: Path) -> None:
    (text,) = problems(tmp_path, content)
    assert words in text


def test_a_table_that_is_no_text_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "pieces.csv"
    path.write_bytes(b"piece\n\xff\xfe\n")
    with pytest.raises(DrawingError, match="UTF-8"):
        apply_piece_list(lorry(tmp_path), path)
