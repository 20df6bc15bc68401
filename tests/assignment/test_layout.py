"""The room as the flow uses it: wishes, homeless pieces, repeatable layouts."""

from __future__ import annotations

import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import box

from panelbeater.assignment import AssignmentOptions, assign_pieces, offer_placements
from panelbeater.assignment.cells import sample_cells
from panelbeater.assignment.sampling import cover_matrix
from panelbeater.assignment.search import Search, find_placements
from panelbeater.errors import NoAssignmentError
from panelbeater.terms.assignment import Assignment
from panelbeater.terms.drawing import Allowance, Wishes
from panelbeater.terms.figure import BONE_IDS
from tests.assignment.cutouts import laid_outlines, standing_fold
from tests.assignment.small import (
    COARSE,
    GROUND,
    small_figure,
    small_layout,
    small_vehicle,
    spelled,
)
from tests.assignment.tiny import laid, tile_figure
from tests.vehicles import drawing, piece

pytestmark = pytest.mark.solve


@cache
def _free() -> Assignment:
    return small_layout(small_vehicle())


def _regions(layout: Assignment) -> dict[str, str]:
    return {cover.piece: cover.region for cover in layout.covers}


def test_every_piece_is_laid_once_in_drawing_order() -> None:
    assert [c.piece for c in _free().covers] == [p.id for p in small_vehicle().pieces]
    assert all(cover.region in BONE_IDS for cover in _free().covers)


def test_every_piece_keeps_its_allowance_and_touches_its_bone() -> None:
    vehicle, figure = small_vehicle(), small_figure()
    for drawn, cover, outline in zip(
        vehicle.pieces, _free().covers, laid_outlines(vehicle, _free()), strict=True
    ):
        allowed = drawn.allowance
        assert allowed.scale_min - 1e-6 <= cover.scale <= allowed.scale_max + 1e-6
        linear = cover.stage_from_piece[:2, :2]
        long, short = np.linalg.svd(linear, compute_uv=False)
        assert np.sqrt(long * short) == pytest.approx(cover.scale)
        assert long / short == pytest.approx(cover.stretch)
        assert cover.stretch <= (1 if drawn.signature else allowed.stretch_max) + 1e-6
        assert np.linalg.det(linear) > 0, "no piece is turned over"
        body = figure.bones[BONE_IDS.index(cover.region)].body
        assert outline.distance(body) < 1e-6, drawn.id
        assert outline.bounds[3] <= GROUND + 1e-6, drawn.id


def test_the_bound_is_no_less_than_the_value() -> None:
    assert _free().bound >= _free().value - 1e-9
    assert _free().gap >= 0
    assert _free().n_candidates > len(_free().covers)


def test_the_same_vehicle_gets_the_same_layout() -> None:
    assert spelled(small_layout(small_vehicle())) == spelled(_free())


@pytest.mark.slow
def test_the_layout_hangs_neither_on_the_order_of_hashes_nor_on_company() -> None:
    at_once = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.assignment.small"],
            cwd=Path(__file__).parents[2],
            text=True,
            env={**os.environ, "PYTHONHASHSEED": hash_seed},
            stdout=subprocess.PIPE,
        )
        for hash_seed in ("1", "4242")
    ]
    for process in at_once:
        told, _ = process.communicate()
        assert process.returncode == 0
        # A solver's own chatter may come first; the layout is what must not change.
        assert told.strip().endswith(spelled(_free()))


def test_a_pinned_piece_lies_where_it_is_pinned() -> None:
    wanted = {"cab": "shank_r", "bar": "head", "front": "torso"}
    assert all(_regions(_free())[name] != region for name, region in wanted.items())
    pins = {name: Wishes(pin=region) for name, region in wanted.items()}
    layout = small_layout(small_vehicle(**pins))
    found = _regions(layout)
    assert {name: found[name] for name in wanted} == wanted
    assert next(c for c in layout.covers if c.piece == "bar").reason.startswith("pinned")


def test_a_banned_region_is_left_alone() -> None:
    liked = _regions(_free())
    bans = {name: Wishes(bans=(liked[name],)) for name in ("bed", "cab", "rear")}
    found = _regions(small_layout(small_vehicle(**bans)))
    assert all(found[name] != liked[name] for name in bans)


def test_pieces_banned_everywhere_are_homeless_and_named() -> None:
    vehicle = small_vehicle(door=Wishes(bans=BONE_IDS), bar=Wishes(bans=BONE_IDS))
    with pytest.raises(NoAssignmentError) as caught:
        offer_placements(vehicle, small_figure(), ground=GROUND, options=COARSE)
    message = str(caught.value)
    assert "door (banned everywhere), bar (banned everywhere)" in message
    assert not any(name in message.split(";")[0] for name in ("bed", "cab", "pane"))
    assert caught.value.exit_status == 3
    assert "\n" not in message


def test_signature_pieces_pinned_under_a_plate_are_refused() -> None:
    # The plate lies over the lamp in the vehicle, is six times as wide, and both must sit
    # on one small region.
    tiles = [box(10 * i, 0, 10 * i + 6, 6) for i in range(15)]
    figure = tile_figure(tiles)
    rigid = Allowance(scale_min=1.0, scale_max=1.0, stretch_max=1.0)
    vehicle = drawing(
        piece("lamp", box(12, 22, 17, 27), 0, "lamp", signature=True, allowance=rigid,
              wishes=Wishes(pin="head")),
        piece("plate", box(10, 20, 40, 50), 1, allowance=rigid, wishes=Wishes(pin="head")),
    )  # fmt: skip
    pool = offer_placements(vehicle, figure, ground=600.0, options=COARSE)
    with pytest.raises(
        NoAssignmentError, match="pin lamp to head; pin plate to head; keep lamp in view"
    ):
        assign_pieces(vehicle, figure, standing_fold(figure), pool, seed=1, budget=0.1)


def test_a_bar_over_two_equal_regions_covers_all_but_counts_half() -> None:
    figure = tile_figure([box(0, 0, 10, 10), box(10, 0, 20, 10)], speck=1e-4)
    bar = laid(0, 0, box(0, 0, 20, 10))
    plate = piece("bar", box(30, 0, 50, 10), 0)
    search = Search.over([plate], figure, 500.0, AssignmentOptions(n_cells=400))
    own = float(search.cells.weight[cover_matrix(search, [bar])[0]].sum())
    silhouette = bar.outline.intersection(figure.silhouette).area / figure.silhouette.area
    assert silhouette == pytest.approx(1, abs=1e-6)
    assert own == pytest.approx(0.5, abs=1e-6)


def test_cells_of_a_region_weigh_what_the_region_does() -> None:
    figure = small_figure()
    cells = sample_cells(figure, AssignmentOptions().n_cells)
    assert cells.weight.sum() == pytest.approx(1, abs=1e-6)
    for region, bone in enumerate(figure.bones):
        mine = cells.of(region)
        assert cells.weight[mine].sum() == pytest.approx(
            bone.region.area / figure.silhouette.area
        )
        assert len(mine) >= 4  # a hand: one lattice for all, so that masks can be moved
        assert shapely.contains_xy(bone.region, cells.points[mine]).all()


def test_placements_come_in_the_order_of_pieces_and_none_sinks() -> None:
    vehicle, figure = small_vehicle(), small_figure()
    search = Search.over(vehicle.pieces, figure, GROUND, COARSE)
    found = find_placements(search, search.plain_worths())
    assert [p.piece for p in found] == sorted(p.piece for p in found)
    for place in found:
        assert place.outline.bounds[3] <= GROUND + 1e-9
        assert place.outline.intersects(figure.bones[place.region].body)
        allowed = vehicle.pieces[place.piece].allowance
        assert allowed.scale_min <= place.scale <= allowed.scale_max
        assert place.stretch <= allowed.stretch_max
        area = vehicle.pieces[place.piece].outline.area
        assert place.outline.area == pytest.approx(area * place.scale**2)


def test_what_is_drawn_in_front_is_wanted_in_front_unless_said_otherwise() -> None:
    covers = _free().covers
    assert Assignment(covers, 0, 0, "", 1).depths == tuple(range(len(covers)))
    turned = tuple(reversed(range(len(covers))))
    assert Assignment(covers, 0, 0, "", 1, depths=turned).depths == turned
    with pytest.raises(AssertionError, match="two pieces at one depth"):
        Assignment(covers, 0, 0, "", 1, depths=(0,) * len(covers))
