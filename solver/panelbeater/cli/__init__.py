"""The command line; the only place that turns errors into exit statuses."""

from panelbeater.cli import completing, handing, judging, planning
from panelbeater.cli.group import main
from panelbeater.cli.handing import FORMATS

__all__ = ["FORMATS", "completing", "handing", "judging", "main", "planning"]
