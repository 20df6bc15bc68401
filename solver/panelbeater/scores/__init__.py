"""The independent judge: promises and scores, from the finished frames alone."""

from panelbeater.scores.clear import judge_clear
from panelbeater.scores.flash import FlashCount, FlashReport, measure_flashes
from panelbeater.scores.judge import score_shot
from panelbeater.scores.limits import STANDARD, Limits
from panelbeater.scores.placed import Placed
from panelbeater.scores.read import parse_frames, read_frames
from panelbeater.scores.result import Break, Promise, Score, Scores, Target
from panelbeater.scores.rules import RuleBreak, judge_rules
from panelbeater.scores.shot import BoneShape, DrawnPiece, Frame, RegionShape, Shot

__all__ = [
    "STANDARD",
    "BoneShape",
    "Break",
    "DrawnPiece",
    "FlashCount",
    "FlashReport",
    "Frame",
    "Limits",
    "Placed",
    "Promise",
    "RegionShape",
    "RuleBreak",
    "Score",
    "Scores",
    "Shot",
    "Target",
    "judge_clear",
    "judge_rules",
    "measure_flashes",
    "parse_frames",
    "read_frames",
    "score_shot",
]
