"""Room: routes the pieces so that they ride the unfolding body."""

from panelbeater.paths.depth import Stack, stack_frames
from panelbeater.paths.gate import frame_width
from panelbeater.paths.options import PathOptions
from panelbeater.paths.partial import keep_shut
from panelbeater.paths.partings import find_partings
from panelbeater.paths.plan import plan_paths
from panelbeater.paths.ride import Rides, find_rides
from panelbeater.paths.sizes import hidden_rooms

__all__ = [
    "PathOptions",
    "Rides",
    "Stack",
    "find_partings",
    "find_rides",
    "frame_width",
    "hidden_rooms",
    "keep_shut",
    "plan_paths",
    "stack_frames",
]
