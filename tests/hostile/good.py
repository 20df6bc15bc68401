"""Small good files, to be broken on purpose."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from hypothesis import settings

from panelbeater.rig import plan_to_json
from panelbeater.terms.assignment import Assignment
from tests.exports.small_rig import small_covers, small_rig
from tests.shots.drawn import figure_svg, tractor_svg

_MANY = settings().max_examples
FEWER = settings(max_examples=max(min(_MANY, 2000), _MANY // 4))
FEW = settings(max_examples=min(_MANY, 2000))
"""For what is slow to try: a quarter of very many examples, or two thousand."""
VEHICLE = tractor_svg()
FIGURE = figure_svg()
SVG = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
BRIEF = """\
vehicle = "tractor.svg"
figure = "figure.svg"
title = "yard"
frames = 48
fps = 24
budget = 0.5

[pin]
cab = "head"

[ban]
roof = ["hand_l", "hand_r"]

[limits]
clash = 0.001
"""
PIECES = """\
piece,kind,signature,mirror,pin,ban,scale_min,scale_max,dip_min,stretch_max,cut
cab,panel,no,none,head,hand_l hand_r,0.7,1.4,0.55,1.35,yes
wheel_rear,wheel,yes,wheel_front,foot_r,,0.7,1.4,0.55,1.35,no
wheel_front,wheel,yes,wheel_rear,foot_l,,0.7,1.4,0.55,1.35,no
"""
POSE = json.dumps(
    {
        "format": "panelbeater-pose",
        "version": 1,
        "frame": 30,
        "root": [50.0, 60.0],
        "turns": {"torso": 0.1, "thigh_l": -0.4},
        "scales": {"shank_l": [0.9, 1.0]},
    }
)


def sheet(content: str) -> str:
    """A page of 100 x 100 with something on it."""
    return f'{SVG} viewBox="0 0 100 100">{content}</svg>'


@cache
def plan_text() -> str:
    """The plan of a small shot, as text."""
    covers = small_covers()
    laid = Assignment(covers, 0.5, 0.6, "laid by hand", len(covers))
    return json.dumps(plan_to_json(small_rig()[0], laid))


def plan_values() -> Any:
    """The same, parsed afresh."""
    return json.loads(plan_text())
