"""The command line; the only place that turns errors into exit statuses."""

from panelbeater.cli import handing, judging, planning
from panelbeater.cli.group import main
from panelbeater.cli.handing import FORMATS

__all__ = ["FORMATS", "handing", "judging", "main", "planning"]
