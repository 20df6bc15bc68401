"""Brightness and redness of a picture, as the flash rules define them."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np

from panelbeater.scores.arrays import Flags
from panelbeater.terms.arrays import Floats

Picture: TypeAlias = np.ndarray[Any, np.dtype[np.uint8]]
"""(..., h, w, 3), sRGB bytes."""

_BYTES = np.arange(256) / 255.0
# WCAG 2.2, "relative luminance", with the knee of IEC 61966-2-1 (0.04045; no byte lies
# between it and the older 0.03928).
_LINEAR = np.where(_BYTES <= 0.04045, _BYTES / 12.92, ((_BYTES + 0.055) / 1.055) ** 2.4)
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722])
# IEC 61966-2-1, linear sRGB to CIE XYZ; rows X, Y, Z.
_XYZ = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)
_WHITE = np.array([0.1978, 0.4683])  # u', v' of D65: black has no colour of its own.
RED_SHARE = 0.8
"""WCAG 2.2, "general flash and red flash thresholds": R / (R + G + B)."""


def linear(picture: Picture) -> Floats:
    """Linear-light red, green and blue, 0 to 1."""
    return np.asarray(_LINEAR[picture])


def luminance(light: Floats) -> Floats:
    """(..., h, w), relative luminance, 0 black to 1 white (WCAG 2.2)."""
    return np.asarray(light @ _LUMINANCE)


def is_saturated_red(light: Floats) -> Flags:
    """(..., h, w), R / (R + G + B) of linear light is 0.8 or more."""
    total = light.sum(axis=-1)
    return np.asarray((total > 0) & (light[..., 0] >= RED_SHARE * total), dtype=np.bool_)


def chromaticity(light: Floats) -> Floats:
    """(2, h, w), u' and v' of CIE 1976 UCS; black counts as white."""
    x, y, z = (light @ row for row in _XYZ)
    below = x + 15.0 * y + 3.0 * z
    lit = below > 0
    safe = np.where(lit, below, 1.0)
    u = np.where(lit, 4.0 * x / safe, _WHITE[0])
    v = np.where(lit, 9.0 * y / safe, _WHITE[1])
    return np.stack([u, v])
