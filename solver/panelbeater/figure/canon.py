"""The measured body that a drawn figure is judged against until its own lines say better.

Shares of the standing height from R. Drillis and R. Contini, Body Segment Parameters,
Office of Vocational Rehabilitation report 1166-03, New York University, 1966, as drawn in
D. A. Winter, Biomechanics and Motor Control of Human Movement, figure "body segment lengths
expressed as a fraction of body height". The head canon of 7.5 to 8 heads is the drawing
school's rule of thumb.
"""

from __future__ import annotations

from typing import Final

UPPER_ARM: Final = 0.186
FOREARM: Final = 0.146
HAND: Final = 0.108
THIGH: Final = 0.245
SHANK: Final = 0.246
FOOT_HEIGHT: Final = 0.039
SHOULDER_HEIGHT: Final = 0.818
HIP_HEIGHT: Final = 0.530
KNEE_HEIGHT: Final = 0.285
SHOULDER_HALF_WIDTH: Final = 0.129
HIP_HALF_WIDTH: Final = 0.0955
CHIN_HEIGHT: Final = 0.870
"""Floor to chin; between 7.5 and 8 heads to the figure."""

ARM: Final = UPPER_ARM + FOREARM + HAND
NECK_HEIGHT: Final = (CHIN_HEIGHT + SHOULDER_HEIGHT) / 2
"""The joint the head turns about: half way between chin and shoulders."""
HIP_SHARE: Final = (NECK_HEIGHT - HIP_HEIGHT) / NECK_HEIGHT
"""Neck to hip as a share of neck to floor; carries over to big-headed figures."""
NAVEL_SHARE: Final = 0.25
"""Hip to navel as a share of hip to neck; the navel lies at .60 of the height."""
