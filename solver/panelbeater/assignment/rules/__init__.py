"""One rule, one file: what a layout may not do, or is paid for doing."""

from panelbeater.assignment.rules.balance import charge_lopsided_limbs
from panelbeater.assignment.rules.cover import reward_covered_cells
from panelbeater.assignment.rules.differ import differ_from
from panelbeater.assignment.rules.kept import reward_kept_vehicle
from panelbeater.assignment.rules.mirror import reward_mirror_pairs
from panelbeater.assignment.rules.once import each_piece_once
from panelbeater.assignment.rules.region_minimum import charge_bare_regions
from panelbeater.assignment.rules.signature import keep_signature_visible
from panelbeater.assignment.rules.twins import charge_unlike_twins

ALL_RULES = (
    each_piece_once,
    reward_covered_cells,
    reward_kept_vehicle,
    charge_bare_regions,
    charge_lopsided_limbs,
    reward_mirror_pairs,
    charge_unlike_twins,
    keep_signature_visible,
)

__all__ = ["ALL_RULES", "differ_from"]
