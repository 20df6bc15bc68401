"""Room: decides which piece covers which region."""

from panelbeater.assignment.again import assign_again, free_pieces, offer_again
from panelbeater.assignment.alternates import Alternate, assign_alternates, nearest_fold
from panelbeater.assignment.assign import Pool, assign_pieces, best_fold, offer_placements
from panelbeater.assignment.draft import draft_pieces
from panelbeater.assignment.options import HABITS, AssignmentOptions, options_for, sort_of
from panelbeater.assignment.stacking import robot_stacking
from panelbeater.assignment.unseen import hide_sizes

__all__ = [
    "HABITS",
    "Alternate",
    "AssignmentOptions",
    "Pool",
    "assign_again",
    "assign_alternates",
    "assign_pieces",
    "best_fold",
    "draft_pieces",
    "free_pieces",
    "hide_sizes",
    "nearest_fold",
    "offer_again",
    "offer_placements",
    "options_for",
    "robot_stacking",
    "sort_of",
]
