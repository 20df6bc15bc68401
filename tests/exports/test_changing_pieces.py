"""Pieces that bend, are redrawn or vanish, as the files tell it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
from shapely import from_wkt, get_coordinates

from panelbeater.exports import export_frames, export_layers, export_smil_svg
from panelbeater.exports.compose import StillCamera
from panelbeater.exports.gltf_mesh import triangles
from panelbeater.exports.gltf_morph import MOST_TARGETS, Bending
from panelbeater.exports.looks import read_looks
from panelbeater.exports.marked import read_marks
from panelbeater.exports.slots import piece_slots
from panelbeater.geometry.bending import bend_points
from panelbeater.svg.outlines import Fineness
from panelbeater.terms.arrays import Floats, Ints, Points
from tests.exports.small_rig import small_covers, small_rig

RIG, SAMPLE = small_rig(pieces_change=True)
TUB, BONNET, BAR = 0, 2, 5
HALF = 12


def test_artwork_made_ready_to_bend_looks_as_drawn() -> None:
    """Gradient, stroke and detail: frame 1 of the bending trolley is the drawing."""
    plain = StillCamera(*small_rig())
    bending = StillCamera(RIG, SAMPLE)
    assert bending.window == plain.window
    wanted, found = (
        np.asarray(camera.picture(0, 640), dtype=float) for camera in (plain, bending)
    )
    assert np.abs(wanted - found).max() < 24  # a hair at a slanting edge
    assert np.abs(wanted - found).mean() < 0.02
    last = np.asarray(bending.picture(23, 640), dtype=float)
    assert np.abs(last - np.asarray(plain.picture(23, 640), dtype=float)).mean() > 1


def test_detail_inside_a_piece_bends_with_its_outline() -> None:
    art = read_looks(RIG, 3).first[TUB].bent
    assert art is not None
    middle = art.points[0] - art.centre
    wanted = bend_points(art.bend, middle) + art.centre
    assert art.through(1.0)[0] == pytest.approx(wanted)


def test_a_morph_keeps_one_list_of_commands_and_few_keys(tmp_path: Path) -> None:
    export_smil_svg(RIG, SAMPLE, tmp_path / "shot.svg")
    morphs = re.findall(
        r'attributeName="d"[^>]*values="([^"]*)"', (tmp_path / "shot.svg").read_text()
    )
    assert morphs
    for values in morphs:
        shapes = values.split(";")
        assert 3 <= len(shapes) < 24  # frames
        assert len({re.sub(r"[^A-Z]", "", shape) for shape in shapes}) == 1


def test_no_triangle_of_a_morph_turns_over() -> None:
    art = read_marks(RIG).bent[TUB, False]
    bending = Bending.keyed(art, SAMPLE.bent[:, TUB], 0.02)
    assert 1 <= len(bending.targets) <= MOST_TARGETS
    assert bending.targets[-1] == 1.0
    for mark in art.marks:
        corners, faces = triangles(bending.sliced(mark.area(Fineness.suited_to(150.0))))
        before = _areas(corners, faces)
        for move in bending.moves(corners):
            assert (_areas(corners + move, faces) * np.sign(before) > 0).all()


def _areas(corners: Points, faces: Ints) -> Floats:
    a, b, c = (corners[faces[:, k]] for k in range(3))
    first, second = b - a, c - a
    area: Floats = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    return area


def test_the_weights_of_a_morph_mix_the_bend_at_every_frame() -> None:
    art = read_marks(RIG).bent[TUB, False]
    shares = SAMPLE.bent[:, TUB]
    bending = Bending.keyed(art, shares, 0.02)
    points = art.points[0]
    mixed = points + np.einsum("ft,tnx->fnx", bending.weights(), bending.moves(points))
    assert mixed == pytest.approx(art.through(shares)[0], abs=0.02)


def test_two_drawings_stand_in_two_slots_of_one_place() -> None:
    slots = piece_slots(RIG, SAMPLE)
    pair = [k for k, slot in enumerate(slots) if slot.piece == BONNET]
    assert [slots[k].redrawn for k in pair] == [False, True]
    assert pair[1] == pair[0] + 1
    assert [sum(slots[k].shown) for k in pair] == [HALF, 24 - HALF]


def test_the_frames_file_tells_what_is_seen(tmp_path: Path) -> None:
    covers = {cover.piece: cover.region for cover in small_covers()}
    export_frames(RIG, SAMPLE, tmp_path / "frames.ndjson", covers)
    text = (tmp_path / "frames.ndjson").read_text()
    lines = [json.loads(line) for line in text.splitlines()][1:]
    pieces = [line["pieces"] for line in lines]
    assert [p[BAR]["visible"] for p in pieces] == [f < HALF for f in range(24)]
    corners = [len(get_coordinates(from_wkt(p[TUB]["wkt"]))) for p in pieces]
    assert len(set(corners)) == 1
    sides = [len(get_coordinates(from_wkt(p[BONNET]["wkt"]))) for p in pieces]
    assert sides == [5] * HALF + [4] * (24 - HALF)


def test_a_vanished_piece_is_in_the_layers_but_hidden(tmp_path: Path) -> None:
    for frame in (0, 23):
        export_layers(RIG, SAMPLE, tmp_path / "layers.svg", frame=frame)
        text = (tmp_path / "layers.svg").read_text()
        tag = re.search(r'<g id="piece-bar"[^>]*>', text)
        assert tag is not None
        assert ("display" in tag.group()) == (frame == 23)
