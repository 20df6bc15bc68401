"""Alternates lean where the vehicle's pieces let them, and habits follow names."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import numpy as np
import pytest
import shapely
from shapely import box

from panelbeater.assignment import assign_pieces, offer_placements
from panelbeater.assignment.candidates import laid_again
from panelbeater.assignment.ideas import ideas_for
from panelbeater.assignment.options import HABITS, AssignmentOptions, options_for, sort_of
from panelbeater.terms.assignment import Asked
from panelbeater.terms.figure import BONE_IDS
from tests.assignment.cutouts import standing_fold
from tests.assignment.small import COARSE, GROUND, small_figure, small_vehicle
from tests.vehicles import piece

PLATE = box(0, 0, 4, 4)


def test_a_vehicle_without_wheels_or_windows_is_offered_no_idea_about_them() -> None:
    names = [idea.name for idea in islice(ideas_for([piece("deck", PLATE, 0)]), 6)]
    assert names == [
        "on balance", "vehicle first", "cover first", "short ways first",
        "another way, 1", "another way, 2",
    ]  # fmt: skip


def test_wheels_bring_an_idea_that_changes_only_their_habit() -> None:
    usual = AssignmentOptions()
    wheeled = [piece("tyre", PLATE, 0, "wheel")]
    (idea,) = [i for i in islice(ideas_for(wheeled), 5) if "shoulders" in i.name]
    leaning = idea.options(usual)
    assert leaning.habits["wheel"] == {"upper_arm": 0.24}
    assert leaning.habits["window"] == usual.habits["window"]
    assert leaning.travel_price == usual.travel_price


def test_a_layout_with_its_wheels_elsewhere_may_not_be_called_after_them() -> None:
    pieces = [piece("tyre", PLATE, 0, "wheel"), piece("deck", PLATE, 1)]
    (idea,) = [i for i in islice(ideas_for(pieces), 5) if "shoulders" in i.name]
    assert idea.is_kept_by(pieces, {"tyre": "upper_arm_l", "deck": "foot_l"})
    # A deck at the shoulder is no wheel.
    assert not idea.is_kept_by(pieces, {"tyre": "foot_l", "deck": "upper_arm_l"})


def test_the_first_idea_is_what_a_plan_does() -> None:
    usual = AssignmentOptions()
    assert next(ideas_for([piece("deck", PLATE, 0)])).options(usual) == usual


@pytest.mark.parametrize(
    ("name", "kind", "sort"),
    [("bonnet_2", "panel", "bonnet"), ("left.hood", "panel", "bonnet"),
     ("hooded_lamp", "lamp", "lamp"), ("neighbourhood", "panel", "panel")],
)  # fmt: skip
def test_a_panel_named_a_bonnet_has_the_habit_of_one(
    name: str, kind: str, sort: str
) -> None:
    assert sort_of(piece(name, PLATE, 0, kind)) == sort  # type: ignore[arg-type]


def test_a_habit_in_the_brief_replaces_the_usual_one_and_no_other() -> None:
    options = options_for(Asked({"torso": 0.9}, {"wheel": {"upper_arm": 0.2}}))
    assert options.habits["wheel"] == {"upper_arm": 0.2}
    assert options.habits["lamp"] == HABITS["lamp"]
    assert options.wanted_cover == {"torso": 0.9}


def test_every_habit_names_regions_there_are() -> None:
    stems = {name.removesuffix("_l").removesuffix("_r") for name in BONE_IDS}
    assert {region for habit in HABITS.values() for region in habit} <= stems


@pytest.mark.solve
def test_a_leaning_brings_more_of_what_comes_first() -> None:
    vehicle, figure = small_vehicle(), small_figure()
    fold, height = standing_fold(figure), figure.height
    pool = offer_placements(vehicle, figure, ground=GROUND, options=COARSE)
    covered, stretched, way = {}, {}, {}
    for idea in islice(ideas_for(vehicle.pieces), 4):
        leaning = replace(pool, options=idea.options(pool.options))
        layout = assign_pieces(vehicle, figure, fold, leaning, seed=1, budget=0.2)
        laid = laid_again(vehicle, layout)
        cover = shapely.union_all([place.outline for place in laid])
        covered[idea.name] = cover.intersection(figure.silhouette).area
        stretched[idea.name] = sum(abs(np.log(c.stretch)).sum() for c in layout.covers)
        way[idea.name] = sum(
            place.outline.centroid.distance(vehicle.pieces[place.piece].outline.centroid)
            for place in laid
        )
    assert covered["cover first"] > covered["on balance"]
    assert stretched["vehicle first"] < stretched["on balance"]
    # The body stands where it is folded here, so a way is that from drawing to robot.
    assert way["short ways first"] <= way["on balance"] + 0.01 * height
    assert way["short ways first"] < way["vehicle first"]
