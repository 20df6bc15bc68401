"""The certificate between frames: what holds at every moment, not only where one looks."""

from panelbeater.scores.between.certificate import certify
from panelbeater.scores.between.motion import Allowed, Motion, Stance

__all__ = ["Allowed", "Motion", "Stance", "certify"]
