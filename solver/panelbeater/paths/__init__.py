"""Room: routes the pieces so that they ride the unfolding body."""

from panelbeater.paths.depth import Stacking, flips_in_sight, stack_depths
from panelbeater.paths.gate import frame_width
from panelbeater.paths.options import PathOptions
from panelbeater.paths.plan import plan_paths
from panelbeater.paths.ride import Rides, find_rides

__all__ = [
    "PathOptions",
    "Rides",
    "Stacking",
    "find_rides",
    "flips_in_sight",
    "frame_width",
    "plan_paths",
    "stack_depths",
]
