"""Shapes become the pieces an animator would cut out."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from panelbeater.drawing import read_drawing
from panelbeater.drawing.names import is_given
from panelbeater.svg import read_svg, silhouette_match
from panelbeater.terms.drawing import Drawing, Piece
from tests.drawing.sheets import CASES, sheet, unlike

BODY = '<path fill="#c33" d="M5 70V45H25L35 25H75V70Z"/>'
WHEELS = (
    '<circle cx="22" cy="70" r="10" fill="#222"/>'
    '<circle cx="60" cy="70" r="10" fill="#222"/>'
)


def pieces_of(tmp_path: Path, body: str) -> dict[str, Piece]:
    return {piece.id: piece for piece in read_drawing(sheet(tmp_path, body)).pieces}


def test_a_named_group_is_one_piece(tmp_path: Path) -> None:
    pieces = pieces_of(
        tmp_path,
        f'<g id="lorry">{BODY}<g id="door"><rect x="40" y="45" width="20" height="20" '
        'fill="#a22"/><circle cx="50" cy="50" r="1"/></g></g>',
    )
    assert sorted(pieces) == ["door", "panel_1"]
    assert pieces["door"].artwork.count("<path") == 2


def test_layers_and_groups_round_everything_are_looked_through(tmp_path: Path) -> None:
    pieces = pieces_of(
        tmp_path,
        '<g inkscape:groupmode="layer" inkscape:label="vehicle"><g id="all">'
        '<g id="cab"><rect width="40" height="40"/></g>'
        '<g id="bed"><rect x="40" width="40" height="40"/></g>'
        '<g id="crane"><rect y="40" width="40" height="40"/></g></g></g>',
    )
    assert sorted(pieces) == ["bed", "cab", "crane"]


@pytest.mark.parametrize(
    "name", ["g12", "path34", "layer1", "svg5", "Layer 2", "XMLID_7_", "_9"]
)
def test_names_made_up_by_editors_do_not_count(name: str) -> None:
    assert not is_given(name)


@pytest.mark.parametrize(
    "name", ["door", "bed", "cab2", "wheel_front", "B-pillar", "frame"]
)
def test_names_given_by_people_count(name: str) -> None:
    assert is_given(name)


def test_one_shape_that_paints_two_wheels_becomes_two_pieces(tmp_path: Path) -> None:
    twin = (
        '<path fill="#222" d="M32 70a10 10 0 11-20 0a10 10 0 0120 0z'
        'M70 70a10 10 0 11-20 0a10 10 0 0120 0z"/>'
    )
    path = sheet(tmp_path, BODY + twin)
    drawing = read_drawing(path)
    assert [piece.id for piece in drawing.pieces] == ["panel_1", "wheel_1", "wheel_2"]
    assert unlike(path, [piece.artwork for piece in drawing.pieces], drawing.defs) < 0.001


def test_twin_wheels_that_touch_come_apart(tmp_path: Path) -> None:
    twin = (
        '<path fill="#222" d="M40.1 70a10 10 0 11-20 0a10 10 0 0120 0z'
        'M60 70a10 10 0 11-20 0a10 10 0 0120 0z"/>'
    )
    kinds = [piece.kind for piece in pieces_of(tmp_path, BODY + twin).values()]
    assert kinds == ["panel", "wheel", "wheel"]


def test_wheels_of_a_silhouette_are_cut_free(tmp_path: Path) -> None:
    path = sheet(
        tmp_path,
        '<path d="M5 70V45H25L35 25H75V70H70A10 10 0 0150 70H32A10 10 0 0112 70Z"/>',
    )
    drawing = read_drawing(path)
    assert sorted(piece.id for piece in drawing.pieces) == ["panel_1", "wheel_1", "wheel_2"]
    assert unlike(path, [piece.artwork for piece in drawing.pieces], drawing.defs) < 0.002
    total = sum(piece.outline.area for piece in drawing.pieces)
    assert total == pytest.approx(drawing.silhouette.area, rel=1e-9)


def test_the_round_ends_of_a_skid_are_no_wheels(tmp_path: Path) -> None:
    skid = '<rect x="5" y="60" width="80" height="16" rx="8"/>'
    assert all(piece.kind != "wheel" for piece in pieces_of(tmp_path, skid).values())


def test_a_hub_joins_its_tyre(tmp_path: Path) -> None:
    hubs = '<circle cx="22" cy="70" r="5" fill="#ccc"/><circle cx="60" cy="70" r="5"/>'
    pieces = pieces_of(tmp_path, BODY + WHEELS + hubs)
    assert sorted(pieces) == ["panel_1", "wheel_1", "wheel_2"]
    assert pieces["wheel_1"].artwork.count("<path") == 2
    assert pieces["wheel_1"].colour == "#222222"


def test_a_hub_behind_another_piece_stays_where_it_is_seen(tmp_path: Path) -> None:
    guard = '<rect x="50" y="60" width="20" height="20" fill="#0a0"/>'
    body = BODY + WHEELS + guard + '<circle cx="60" cy="70" r="5" fill="#ccc"/>'
    path = sheet(tmp_path, body)
    drawing = read_drawing(path)
    assert unlike(path, [piece.artwork for piece in drawing.pieces], drawing.defs) < 0.001


def test_a_door_keeps_its_handle(tmp_path: Path) -> None:
    door = '<rect x="40" y="45" width="20" height="20" fill="#a22"/>'
    handle = '<rect x="55" y="50" width="3" height="1" fill="#eee"/>'
    pieces = pieces_of(tmp_path, BODY + door + handle)
    assert len(pieces) == 2
    assert any(piece.artwork.count("<path") == 2 for piece in pieces.values())


def test_a_named_lamp_is_kept_however_it_sits(tmp_path: Path) -> None:
    pieces = pieces_of(
        tmp_path,
        BODY + '<rect id="headlamp" x="6" y="50" width="4" height="4" fill="#ff8"/>',
    )
    assert pieces["headlamp"].kind == "lamp"


def test_the_backdrop_and_clear_shapes_are_left_out_and_said(tmp_path: Path) -> None:
    path = sheet(
        tmp_path,
        '<rect width="100" height="100" fill="#fff"/>'
        '<rect width="50" height="50" opacity="0"/>' + BODY,
    )
    drawing = read_drawing(path)
    assert len(drawing.pieces) == 1
    assert any("backdrop" in text for text in drawing.warnings)
    assert any("transparent" in text for text in drawing.warnings)


def test_a_piece_wholly_hidden_is_kept_and_said(tmp_path: Path) -> None:
    drawing = read_drawing(
        sheet(tmp_path, '<rect id="engine" x="40" y="40" width="20" height="20"/>' + BODY)
    )
    assert drawing.pieces[0].id == "engine"
    assert any("'engine' lies wholly hidden" in text for text in drawing.warnings)


def test_kinds_follow_shape_place_and_colour(tmp_path: Path) -> None:
    body = (
        BODY
        + '<path fill="#8cf" d="M38 42L42 30H60V42Z"/>'
        + '<rect x="3" y="52" width="6" height="6" fill="#fe8"/>'
        + '<rect x="2" y="64" width="9" height="6" fill="#777"/>'
        + WHEELS
    )
    kinds = [piece.kind for piece in pieces_of(tmp_path, body).values()]
    assert kinds == ["panel", "window", "lamp", "bumper", "wheel", "wheel"]


def test_kinds_follow_names_first(tmp_path: Path) -> None:
    pieces = pieces_of(
        tmp_path,
        '<rect id="rear-windscreen" width="50" height="50" fill="#300"/>'
        '<rect id="tailLights" y="50" width="50" height="50" fill="#333"/>',
    )
    assert pieces["rear-windscreen"].kind == "window"
    assert pieces["tailLights"].kind == "lamp"


def test_equal_wheels_answer_each_other_and_are_signature(tmp_path: Path) -> None:
    pieces = pieces_of(tmp_path, BODY + WHEELS)
    assert pieces["wheel_1"].mirror == "wheel_2"
    assert pieces["wheel_2"].mirror == "wheel_1"
    assert pieces["wheel_1"].signature
    assert not pieces["panel_1"].signature


def test_only_pieces_called_alike_answer_each_other(tmp_path: Path) -> None:
    names = ("side_board_1", "side_board_2", "toolbox")
    pieces = pieces_of(
        tmp_path,
        "".join(
            f'<rect id="{name}" x="{30 * k}" width="25" height="30"/>'
            for k, name in enumerate(names)
        ),
    )
    assert pieces["side_board_1"].mirror == "side_board_2"
    assert pieces["toolbox"].mirror is None


def test_a_yellow_winch_is_no_lamp(tmp_path: Path) -> None:
    winch = '<rect id="winch" x="2" y="50" width="6" height="8" fill="#fe8"/>'
    assert pieces_of(tmp_path, BODY + winch)["winch"].kind == "other"


def test_the_windscreen_is_signature_before_larger_windows(tmp_path: Path) -> None:
    pieces = pieces_of(
        tmp_path,
        BODY + '<rect id="windscreen" x="36" y="30" width="8" height="12"/>'
        '<rect id="side_window" x="46" y="30" width="20" height="12"/>',
    )
    assert pieces["windscreen"].signature
    assert not pieces["side_window"].signature


def test_at_most_five_signature_pieces(tmp_path: Path) -> None:
    many = "".join(f'<circle cx="{8 + 12 * k}" cy="75" r="6"/>' for k in range(7))
    pieces = pieces_of(tmp_path, BODY + many)
    assert sum(piece.signature for piece in pieces.values()) <= 5


def test_odd_names_become_plain_unique_ids(tmp_path: Path) -> None:
    rects = "".join(
        f'<rect inkscape:label="Tür &lt;1&gt;" x="{x}" width="30" height="30"/>'
        for x in (0, 40)
    )
    assert sorted(pieces_of(tmp_path, rects)) == ["T_r_1", "T_r_1_2"]


def check_sound(drawing: Drawing) -> None:
    """What every drawing promises the rooms after it."""
    ids = [piece.id for piece in drawing.pieces]
    assert len(set(ids)) == len(ids)
    assert [piece.depth for piece in drawing.pieces] == list(range(len(ids)))
    for piece in drawing.pieces:
        assert piece.outline.is_valid
        assert piece.outline.area > 0
        assert piece.mirror is None or piece.mirror in ids
    whole = shapely.union_all([piece.outline for piece in drawing.pieces])
    assert whole.symmetric_difference(drawing.silhouette).area < 1e-9 * whole.area


@pytest.mark.skipif(not CASES, reason="the folder of real drawings is not here")
@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_real_drawings_become_sound_pieces_that_repaint_them(path: Path) -> None:
    drawing = read_drawing(path)
    check_sound(drawing)
    box = read_svg(path).view_box
    assert silhouette_match(path, drawing.silhouette, box) >= 0.985
    assert unlike(path, [piece.artwork for piece in drawing.pieces], drawing.defs) < 0.002
    assert drawing.warnings == ()


def test_reading_twice_gives_the_same(tmp_path: Path) -> None:
    path = sheet(tmp_path, BODY + WHEELS)
    first, second = read_drawing(path), read_drawing(path)
    assert first.defs == second.defs
    for a, b in zip(first.pieces, second.pieces, strict=True):
        assert (a.id, a.artwork, a.outline.wkb) == (b.id, b.artwork, b.outline.wkb)
