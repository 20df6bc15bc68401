"""How thoroughly properties are tried: `quick` on every run, `deep` before a release."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

# Machines differ in speed, so no example is timed; drawing shapes is slow by nature.
BY_NATURE = (HealthCheck.too_slow,)

settings.register_profile(
    "quick",
    max_examples=25,
    derandomize=True,
    deadline=None,
    suppress_health_check=BY_NATURE,
)
settings.register_profile(
    "deep", max_examples=2000, deadline=None, suppress_health_check=BY_NATURE
)
settings.load_profile(os.environ.get("PANELBEATER_PROFILE", "quick"))
