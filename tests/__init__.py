"""Tests; how sums are added up is settled before anything else loads numpy."""

import panelbeater  # noqa: F401
