"""Tests; one thread for linear algebra is set before anything else loads numpy."""

import panelbeater  # noqa: F401
