"""The hard promises: a plan that breaks one is not a plan."""

from panelbeater.scores.promises.budget import judge_budget
from panelbeater.scores.promises.clash import judge_clash
from panelbeater.scores.promises.drawn import judge_missing, judge_vehicle
from panelbeater.scores.promises.floats import judge_float
from panelbeater.scores.promises.ground import judge_ground, stances
from panelbeater.scores.promises.landing import judge_landing
from panelbeater.scores.promises.leak import judge_leak
from panelbeater.scores.promises.pop import judge_pop
from panelbeater.scores.promises.where import located

__all__ = [
    "judge_budget",
    "judge_clash",
    "judge_float",
    "judge_ground",
    "judge_landing",
    "judge_leak",
    "judge_missing",
    "judge_pop",
    "judge_vehicle",
    "located",
    "stances",
]
