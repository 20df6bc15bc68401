"""The flash meter: could a rendered shot provoke a seizure? WCAG 2.2 SC 2.3.1."""

from panelbeater.scores.flash.meter import FlashCount, FlashReport, measure_flashes

__all__ = ["FlashCount", "FlashReport", "measure_flashes"]
