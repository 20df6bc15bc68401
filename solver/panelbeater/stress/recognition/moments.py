"""Silhouettes as Zernike moments: how the black is spread over a disc."""

from __future__ import annotations

from functools import cache
from math import factorial
from typing import Any, TypeAlias

import numpy as np

from panelbeater.stress.recognition.silhouettes import Mask
from panelbeater.terms.arrays import Floats, Ints

Moments: TypeAlias = np.ndarray[Any, np.dtype[np.complex128]]
"""(..., n_moments), Zernike moments in the order of `orders`."""

ORDER = 12
"""Highest Zernike order: 49 moments; Khotanzad & Hong 1990 used 12 for letters."""


def orders(highest: int = ORDER) -> list[tuple[int, int]]:
    """Pairs (n, m) with n - m even and 0 <= m <= n, rising."""
    return [(n, m) for n in range(highest + 1) for m in range(n + 1) if (n - m) % 2 == 0]


def zernike_moments(mask: Mask) -> Moments:
    """(49,), moments over the disc about the centroid that just holds the silhouette.

    A. Khotanzad & Y. H. Hong, Invariant image recognition by Zernike moments, IEEE PAMI 12,
    1990, equation 3, divided by the area. The phase is kept: a picture that lies on its
    side is another picture. 0 for an empty mask.
    """
    y, x = np.nonzero(mask)
    if not len(x):
        return np.zeros(len(orders()), dtype=np.complex128)
    z = (x - x.mean()) + 1j * (y - y.mean())
    radius = np.abs(z).max() or 1.0
    r, angle = np.abs(z) / radius, np.angle(z)
    powers = r[None] ** np.arange(ORDER + 1)[:, None]  # (order + 1, n)
    turns = np.exp(-1j * angle[None] * np.arange(ORDER + 1)[:, None])
    share, radial, turn = _polynomials()
    values = np.einsum("kp,kp->k", radial @ powers, turns[turn])
    return np.asarray(share * values / len(x), dtype=np.complex128)


def flopped(moments: Moments) -> Moments:
    """The moments of the picture seen in a mirror: left and right exchanged."""
    signs = np.array([(-1.0) ** m for _, m in orders()])
    return np.asarray(signs * np.conj(moments), dtype=np.complex128)


@cache
def _polynomials() -> tuple[Floats, Floats, Ints]:
    """(49,) factors, (49, ORDER + 1) radial polynomials and (49,) turns, as `orders`."""
    n, m = np.array(orders()).T
    radial = np.array([_radial(*order) for order in orders()])
    return (n + 1) / np.pi, radial, m


def _radial(n: int, m: int) -> Floats:
    """(ORDER + 1,), coefficients of the radial polynomial by power of r (Zernike 1934)."""
    out = np.zeros(ORDER + 1)
    for s in range((n - m) // 2 + 1):
        out[n - 2 * s] = (
            (-1) ** s
            * factorial(n - s)
            / (factorial(s) * factorial((n + m) // 2 - s) * factorial((n - m) // 2 - s))
        )
    return out
