"""Each rule alone: the smallest model it allows, and the layout it forbids or charges."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from ortools.sat.python import cp_model
from shapely import box

from panelbeater.assignment.options import AssignmentOptions
from panelbeater.assignment.rules.balance import charge_lopsided_limbs
from panelbeater.assignment.rules.cover import reward_covered_cells
from panelbeater.assignment.rules.differ import differ_from
from panelbeater.assignment.rules.mirror import mirror_region, reward_mirror_pairs
from panelbeater.assignment.rules.once import each_piece_once
from panelbeater.assignment.rules.region_minimum import charge_bare_regions
from panelbeater.assignment.rules.signature import keep_signature_visible
from panelbeater.assignment.rules.twins import charge_unlike_twins
from panelbeater.assignment.table import Case, Table
from panelbeater.terms.drawing import Piece
from panelbeater.terms.figure import BONE_IDS
from tests.assignment.tiny import (
    PLAIN,
    case_of,
    laid,
    one_cell_a_region,
    solve_alone,
    tile_figure,
)
from tests.vehicles import piece

pytestmark = pytest.mark.solve

UNIT_TILES = [box(10 * i, 0, 10 * i + 4, 4) for i in range(15)]
FIGURE = tile_figure(UNIT_TILES)


def _plates(n: int) -> list[Piece]:
    return [piece(f"plate_{i}", box(0, 10 * i, 4, 10 * i + 4), i) for i in range(n)]


def _on(*pairs: tuple[int, int], n_pieces: int, options: AssignmentOptions = PLAIN) -> Case:
    """Placements (piece, region) that each cover the one cell of their region."""
    placements = [laid(i, region, UNIT_TILES[region]) for i, region in pairs]
    cells = one_cell_a_region(15, 1 / 15)
    covers = np.array([cells.region == place.region for place in placements])
    return case_of(_plates(n_pieces), FIGURE, placements, cells, covers,
                   np.zeros(len(pairs)), options)  # fmt: skip


def test_a_piece_lies_exactly_once() -> None:
    case = _on((0, 0), (0, 1), (1, 0), n_pieces=2)
    status, _, chosen = solve_alone(case, each_piece_once)
    assert status == cp_model.OPTIMAL
    assert len(chosen) == 2
    assert 2 in chosen


def test_a_piece_cannot_lie_in_two_places() -> None:
    case = _on((0, 0), (0, 1), n_pieces=1)
    assert solve_alone(case, each_piece_once, force=[0, 1])[0] == cp_model.INFEASIBLE
    assert solve_alone(case, each_piece_once, force=[0])[0] == cp_model.OPTIMAL


def test_a_piece_without_a_place_cannot_vanish() -> None:
    assert solve_alone(_on((0, 0), n_pieces=2), each_piece_once)[0] == cp_model.INFEASIBLE


def test_a_cell_under_two_plates_pays_once() -> None:
    case = _on((0, 3), (1, 3), n_pieces=2)
    _, worth, _ = solve_alone(case, reward_covered_cells, force=[0, 1])
    assert worth == pytest.approx(1 / 15, abs=1e-6)


def test_a_bare_cell_pays_nothing() -> None:
    case = _on((0, 3), (1, 4), n_pieces=2)
    _, both, _ = solve_alone(case, reward_covered_cells, force=[0, 1])
    assert both == pytest.approx(2 / 15, abs=2e-6)
    bare = case_of(case.pieces, FIGURE, case.placements, case.cells,
                   np.zeros_like(case.covers), case.price)  # fmt: skip
    assert solve_alone(bare, reward_covered_cells, force=[0, 1])[1] == 0


def test_a_region_below_its_minimum_is_charged_for_what_it_lacks() -> None:
    options = AssignmentOptions(region_minimum=0.6, mirror_bonus=0.0)
    covered = _on((0, 0), n_pieces=1, options=options)
    _, worth, _ = solve_alone(covered, reward_covered_cells, charge_bare_regions, force=[0])
    # One region covered, fourteen bare ones lacking six tenths each.
    assert worth == pytest.approx((1 - 14 * 0.6) / 15, abs=2e-5)
    free = _on((0, 0), n_pieces=1, options=PLAIN)
    _, worth, _ = solve_alone(free, reward_covered_cells, charge_bare_regions, force=[0])
    assert worth == pytest.approx(1 / 15, abs=2e-5)


def test_a_bare_hand_is_charged_like_a_middling_region() -> None:
    options = AssignmentOptions(region_minimum=0.5, mirror_bonus=0.0)
    case = _on((0, 0), n_pieces=1, options=options)
    weight = np.full(15, 0.08)
    weight[BONE_IDS.index("hand_l")] = 0.02
    weight[BONE_IDS.index("torso")] = 0.16
    cells = replace(case.cells, weight=weight)
    none = np.zeros_like(case.covers)
    bare = case_of(case.pieces, FIGURE, case.placements, cells, none, case.price, options)
    _, worth, _ = solve_alone(bare, reward_covered_cells, charge_bare_regions, force=[0])
    # Half of thirteen middling regions, half of the torso, half of the hand three times.
    assert worth == pytest.approx(-(13 * 0.04 + 0.08 + 3 * 0.01), abs=2e-5)


def test_spreading_out_beats_heaping_up_only_with_a_region_minimum() -> None:
    options = AssignmentOptions(region_minimum=0.6, mirror_bonus=0.0)
    case = _on((0, 0), (1, 0), (1, 1), n_pieces=2, options=options)
    rules = (each_piece_once, reward_covered_cells, charge_bare_regions)
    assert solve_alone(case, *rules)[2] == [0, 2]
    _, spread, _ = solve_alone(case, *rules, force=[0, 2])
    _, heaped, _ = solve_alone(case, *rules, force=[0, 1])
    assert spread - heaped == pytest.approx(1.6 / 15, abs=2e-5)


def test_left_answers_right_and_the_trunk_answers_itself() -> None:
    names = {BONE_IDS[i]: BONE_IDS[mirror_region(i)] for i in range(15)}
    assert names["hand_l"] == "hand_r"
    assert names["foot_r"] == "foot_l"
    assert names["torso"] == "torso"
    assert all(names[names[name]] == name for name in names)


def test_a_mirror_pair_is_paid_for_on_mirror_regions_only() -> None:
    left, right, torso = (BONE_IDS.index(n) for n in ("shank_l", "shank_r", "torso"))
    options = AssignmentOptions(region_minimum=0.0, mirror_bonus=0.05, size_bonus=0.0)
    case = _on((0, left), (1, right), (1, torso), (1, left), n_pieces=2, options=options)
    pair = (piece("front", box(0, 0, 4, 4), 0, mirror="rear"),
            piece("rear", box(9, 0, 13, 4), 1, mirror="front"))  # fmt: skip
    case = case_of(
        pair, FIGURE, case.placements, case.cells, case.covers, case.price, options
    )
    assert solve_alone(case, reward_mirror_pairs, force=[0, 1])[1] == pytest.approx(0.05)
    rules = (each_piece_once, reward_mirror_pairs)
    assert solve_alone(case, *rules, force=[0, 2])[1] == 0
    assert solve_alone(case, *rules, force=[0, 3])[1] == 0


def test_pieces_that_answer_nobody_earn_no_bonus() -> None:
    left, right = (BONE_IDS.index(n) for n in ("shank_l", "shank_r"))
    options = AssignmentOptions(region_minimum=0.0, mirror_bonus=0.05)
    case = _on((0, left), (1, right), n_pieces=2, options=options)
    assert solve_alone(case, each_piece_once, reward_mirror_pairs)[1] == 0


@pytest.mark.parametrize(
    ("signature_depth", "drawn_at", "overlap", "allowed"),
    [(0, 3, 4.0, False), (0, 3, 0.8, True), (1, 3, 4.0, True), (0, 9, 4.0, True)],
    ids=["buried", "edge touched", "in front", "drawn apart"],
)
def test_no_plate_buries_a_signature_piece(
    signature_depth: int, drawn_at: float, overlap: float, *, allowed: bool
) -> None:
    lamp = piece("lamp", box(0, 0, 4, 4), signature_depth, signature=True)
    plate = piece("plate", box(drawn_at, 0, drawn_at + 4, 4), 1 - signature_depth)
    pieces = (lamp, plate) if signature_depth == 0 else (plate, lamp)
    index = {p.id: i for i, p in enumerate(pieces)}
    placements = [
        laid(index["lamp"], 0, box(0, 0, 4, 4)),
        laid(index["plate"], 0, box(4 - overlap, 0, 8 - overlap, 4)),
    ]
    cells = one_cell_a_region(15, 1 / 15)
    covers = np.zeros((2, 15), dtype=bool)
    case = case_of(pieces, FIGURE, placements, cells, covers, np.zeros(2))
    status, _, _ = solve_alone(case, keep_signature_visible, force=[0, 1])
    assert (status == cp_model.OPTIMAL) == allowed


@pytest.mark.parametrize(
    ("width", "allowed"), [(1.3, False), (0.6, True)], ids=["two halves", "two edges"]
)
def test_two_plates_do_not_bury_a_signature_piece_together(
    width: float, *, allowed: bool
) -> None:
    lamp = piece("lamp", box(0, 0, 4, 4), 0, signature=True)
    plates = [piece(f"plate_{i}", box(3, 0, 7, 4), 1 + i) for i in range(2)]
    spots = [box(width - 4, 0, width, 4), box(4 - width, 0, 8 - width, 4)]
    placements = [
        laid(0, 0, lamp.outline),
        *(laid(i + 1, 0, s) for i, s in enumerate(spots)),
    ]
    cells, covers = one_cell_a_region(15, 1 / 15), np.zeros((3, 15), dtype=bool)
    case = case_of((lamp, *plates), FIGURE, placements, cells, covers, np.zeros(3))
    # Each alone hides less than what one plate may.
    for i in (1, 2):
        assert (
            solve_alone(case, keep_signature_visible, force=[0, i])[0] == cp_model.OPTIMAL
        )
    status, _, _ = solve_alone(case, keep_signature_visible, force=[0, 1, 2])
    assert (status == cp_model.OPTIMAL) == allowed


def test_a_plain_piece_may_be_buried() -> None:
    case = _on((0, 0), (1, 0), n_pieces=2)
    assert solve_alone(case, keep_signature_visible, force=[0, 1])[0] == cp_model.OPTIMAL


def test_a_limb_barer_than_its_twin_is_charged_for_the_difference() -> None:
    left, right, torso = (BONE_IDS.index(n) for n in ("shank_l", "shank_r", "torso"))
    options = AssignmentOptions(region_minimum=0.0, mirror_bonus=0.0, balance_price=0.5)
    case = _on((0, left), (1, right), (1, torso), n_pieces=2, options=options)
    rules = (each_piece_once, reward_covered_cells, charge_lopsided_limbs)
    _, even, _ = solve_alone(case, *rules, force=[0, 1])
    assert even == pytest.approx(2 / 15, abs=2e-5)
    # One shank covered and the other bare: half a region's area is lost.
    _, lopsided, _ = solve_alone(case, *rules, force=[0, 2])
    assert lopsided == pytest.approx(1.5 / 15, abs=5e-4)  # charged per mille
    assert solve_alone(case, *rules)[2] == [0, 1]


def test_a_mirror_pair_of_one_size_earns_more_than_one_of_two_sizes() -> None:
    left, right = (BONE_IDS.index(n) for n in ("foot_l", "foot_r"))
    options = AssignmentOptions(mirror_bonus=0.05, size_bonus=0.02)
    pair = (piece("front", box(0, 0, 4, 4), 0, "wheel", mirror="rear"),
            piece("rear", box(9, 0, 13, 4), 1, "wheel", mirror="front"))  # fmt: skip
    placements = [laid(0, left, UNIT_TILES[left]),
                  laid(1, right, UNIT_TILES[right]),
                  laid(1, right, UNIT_TILES[right], scale=0.75)]  # fmt: skip
    case = case_of(pair, FIGURE, placements, one_cell_a_region(15, 1 / 15),
                   np.zeros((3, 15), dtype=bool), np.zeros(3), options)  # fmt: skip
    assert solve_alone(case, reward_mirror_pairs, force=[0, 1])[1] == pytest.approx(0.07)
    rules = (each_piece_once, reward_mirror_pairs)
    assert solve_alone(case, *rules, force=[0, 2])[1] == pytest.approx(0.05)


def test_twin_limbs_in_two_paints_are_charged_for_what_the_other_lacks() -> None:
    left, right, torso = (BONE_IDS.index(n) for n in ("shank_l", "shank_r", "torso"))
    share = 16 / FIGURE.silhouette.area
    options = AssignmentOptions(twin_price=0.1)
    case = _on((0, left), (1, right), (1, torso), (2, right), n_pieces=3, options=options)
    red, also_red, green = (
        replace(plate, colour=colour)
        for plate, colour in zip(
            case.pieces, ("#cc2222", "#cc2a22", "#22cc22"), strict=True
        )
    )
    case = replace(case, pieces=(red, also_red, green))
    _, alike, _ = solve_alone(case, charge_unlike_twins, force=[0, 1])
    assert alike == pytest.approx(0.0)
    # Both shanks wear a plate the other does not, or one of them nothing at all.
    model = (each_piece_once, charge_unlike_twins)
    _, unlike, _ = solve_alone(case, *model, force=[0, 2, 3])
    assert unlike == pytest.approx(-0.1 * 2 * share, abs=2e-5)
    only = replace(case, pieces=(red, also_red, replace(green, kind="lamp")))
    _, alone, _ = solve_alone(only, *model, force=[0, 1, 3])
    assert alone == pytest.approx(-0.1 * share, abs=2e-5)


def test_the_animators_own_figure_for_a_region_outweighs_the_usual_one() -> None:
    options = AssignmentOptions(
        region_minimum=0.0, wanted_cover={"torso": 0.9}, wanted_price=10.0
    )
    torso, head = BONE_IDS.index("torso"), BONE_IDS.index("head")
    case = _on((0, head), (0, torso), n_pieces=1, options=options)
    rules = (each_piece_once, reward_covered_cells, charge_bare_regions)
    _, kept, chosen = solve_alone(case, *rules)
    assert chosen == [1]
    assert kept == pytest.approx(1 / 15, abs=2e-5)
    _, broken, _ = solve_alone(case, *rules, force=[0])
    assert broken == pytest.approx(1 / 15 - 10 * 0.9 / 15, abs=2e-4)
    _, unasked, _ = solve_alone(replace(case, options=PLAIN), *rules, force=[0])
    assert unasked == pytest.approx(1 / 15, abs=2e-5)


def test_another_layout_lies_elsewhere_and_not_only_on_the_other_side() -> None:
    left, right, torso = (BONE_IDS.index(n) for n in ("shank_l", "shank_r", "torso"))
    case = _on((0, left), (0, right), (0, torso), (1, left), (1, torso), n_pieces=2)
    earlier = {"plate_0": "shank_l", "plate_1": "shank_l"}

    def differs(model: cp_model.CpModel, table: Table, case: Case) -> None:
        differ_from(model, table, case, earlier, 1)

    rules = (each_piece_once, differs)
    assert solve_alone(case, *rules, force=[1, 3])[0] == cp_model.INFEASIBLE
    assert solve_alone(case, *rules, force=[0, 4])[0] == cp_model.OPTIMAL


def test_small_plates_alone_make_no_other_layout() -> None:
    torso, head = BONE_IDS.index("torso"), BONE_IDS.index("head")
    case = _on((0, head), (0, torso), (1, head), (1, torso), n_pieces=2)
    large = replace(case.pieces[0], outline=box(0, 0, 40, 40))
    case = replace(case, pieces=(large, case.pieces[1]))
    earlier = {"plate_0": "head", "plate_1": "head"}

    def differs(model: cp_model.CpModel, table: Table, case: Case) -> None:
        differ_from(model, table, case, earlier, 1)

    assert solve_alone(case, each_piece_once, differs, force=[0, 3])[0] == (
        cp_model.INFEASIBLE
    )
    assert solve_alone(case, each_piece_once, differs, force=[1, 2])[0] == (
        cp_model.OPTIMAL
    )
