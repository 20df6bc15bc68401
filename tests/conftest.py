"""How thoroughly properties are tried (`quick` on every run, `deep` before a release,
`fuzz` for what strangers send), and the one browser that a module of tests shares.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser

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
settings.register_profile(
    "fuzz",
    max_examples=24_000,
    derandomize=True,
    deadline=None,
    suppress_health_check=BY_NATURE,
)
settings.load_profile(os.environ.get("PANELBEATER_PROFILE", "quick"))


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    from tests.exports.pages import opened_browser  # only where a browser is asked for

    with opened_browser() as opened:
        yield opened
