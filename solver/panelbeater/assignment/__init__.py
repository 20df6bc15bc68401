"""Room: decides which piece covers which region."""

from panelbeater.assignment.assign import Pool, assign_pieces, offer_placements
from panelbeater.assignment.options import AssignmentOptions

__all__ = ["AssignmentOptions", "Pool", "assign_pieces", "offer_placements"]
