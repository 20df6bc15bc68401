"""Room: decides which piece covers which region."""

from panelbeater.assignment.alternates import Alternate, assign_alternates, nearest_fold
from panelbeater.assignment.assign import Pool, assign_pieces, offer_placements
from panelbeater.assignment.draft import draft_pieces
from panelbeater.assignment.options import AssignmentOptions

__all__ = [
    "Alternate",
    "AssignmentOptions",
    "Pool",
    "assign_alternates",
    "assign_pieces",
    "draft_pieces",
    "nearest_fold",
    "offer_placements",
]
