"""Room: decides when each piece moves."""

from panelbeater.schedule.moves import schedule_moves
from panelbeater.schedule.options import ScheduleOptions

__all__ = ["ScheduleOptions", "schedule_moves"]
