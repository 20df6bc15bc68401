"""Room: decides when each piece moves."""

from panelbeater.schedule.moves import ScheduleOptions, schedule_moves

__all__ = ["ScheduleOptions", "schedule_moves"]
