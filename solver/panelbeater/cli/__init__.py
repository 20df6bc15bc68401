"""The command line; the only place that turns errors into exit statuses."""

from panelbeater.cli import handing, judging, planning
from panelbeater.cli.group import main

__all__ = ["handing", "judging", "main", "planning"]
