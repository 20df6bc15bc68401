"""Small, blurred, or through other eyes: can the pieces still be told apart?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeAlias

import numpy as np
from PIL import Image, ImageFilter
from skimage.color import rgb2lab

from panelbeater.terms.arrays import Floats, Ints

Bytes: TypeAlias = np.ndarray[Any, np.dtype[np.uint8]]
"""(h, w, 3), sRGB."""

FULL_PX = 256
"""Height of the picture every view starts from."""
# G. M. Machado, M. M. Oliveira & L. A. F. Fernandes, A physiologically-based model for
# simulation of color vision deficiency, IEEE TVCG 15, 2009, severity 1.0; linear RGB.
COLOUR_BLIND: dict[str, Floats] = {
    "without red cones": np.array(
        [[0.152286, 1.052583, -0.204868],
         [0.114503, 0.786281, 0.099216],
         [-0.003882, -0.048116, 1.051998]]
    ),
    "without green cones": np.array(
        [[0.367322, 0.860646, -0.227968],
         [0.280085, 0.672501, 0.047413],
         [-0.011820, 0.042940, 0.968881]]
    ),
    "without blue cones": np.array(
        [[1.255528, -0.076749, -0.178779],
         [-0.078411, 0.930809, 0.147602],
         [0.004733, 0.691367, 0.303900]]
    ),
}  # fmt: skip
BLURS = {"blurred": 1 / 80, "strongly blurred": 1 / 40}
"""Radius of a Gaussian blur as a share of the picture's height (project): where a 20 degree
tall picture is seen with about 0.1 and 0.05 visual acuity."""
ACROSS_PX = 3
"""Pixels between the two spots compared across an edge: past the soft rim of the paint."""
PAST_BLUR = 2.5
"""Blur radii between the two spots where the picture is blurred: past the softened edge."""
FEWEST_PX = 10
"""Edge spots below which a piece is too hidden to be asked about."""


def simulated(picture: Bytes, matrix: Floats) -> Bytes:
    """The picture as seen without one kind of cone; applied to linear light."""
    value = picture / 255.0
    light = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    seen = np.clip(light @ matrix.T, 0.0, 1.0)
    coded = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
    return np.asarray(np.round(255 * coded), dtype=np.uint8)


def blurred(picture: Bytes, share: float) -> Bytes:
    """The picture out of focus by a share of its height."""
    radius = share * picture.shape[0]
    return np.asarray(Image.fromarray(picture).filter(ImageFilter.GaussianBlur(radius)))


def as_thumbnail(picture: Bytes, height_px: int) -> Bytes:
    """Shrunk to so many rows, then shown at its old size."""
    height, width = picture.shape[:2]
    small = (max(1, round(width * height_px / height)), height_px)
    shrunk = Image.fromarray(picture).resize(small, Image.Resampling.BOX)
    return np.asarray(shrunk.resize((width, height), Image.Resampling.BICUBIC))


@dataclass(frozen=True, slots=True, eq=False)
class Sight:
    """One way of seeing a picture."""

    name: str
    look: Callable[[Bytes], Bytes]
    """Takes and gives a picture of one size."""
    across_px: int = ACROSS_PX


def ways_of_seeing() -> tuple[Sight, ...]:
    """As painted, small, out of focus, and without one kind of cone."""
    return (
        Sight("as painted, 256 px high", np.asarray),
        *(Sight(f"{h} px high", partial(as_thumbnail, height_px=h)) for h in (128, 64)),
        *(
            Sight(name, partial(blurred, share=share), round(PAST_BLUR * share * FULL_PX))
            for name, share in BLURS.items()
        ),
        *(
            Sight(name, partial(simulated, matrix=matrix))
            for name, matrix in COLOUR_BLIND.items()
        ),
    )


def edge_differences(
    picture: Bytes, labels: Ints, across_px: int = ACROSS_PX
) -> dict[int, float]:
    """Label to mean colour difference across its edges (CIE 1976 L*a*b*, no unit).

    Labels with too short an edge to judge are left out.
    """
    lab = rgb2lab(picture)
    total = np.zeros(int(labels.max()) + 1)
    count = np.zeros(len(total))
    for axis in (0, 1):
        last = labels.shape[axis] - across_px
        near, far = range(last), range(across_px, last + across_px)
        one, other = np.take(labels, near, axis), np.take(labels, far, axis)
        edge = one != other
        apart = np.linalg.norm(
            np.take(lab, near, axis)[edge] - np.take(lab, far, axis)[edge], axis=-1
        )
        for side in (one[edge], other[edge]):
            count += np.bincount(side, minlength=len(count))
            total += np.bincount(side, weights=apart, minlength=len(count))
    seen = np.flatnonzero(count >= FEWEST_PX)
    return {int(label): float(total[label] / count[label]) for label in seen}


def told_apart(differences: dict[int, float], least: float) -> tuple[float, list[int]]:
    """Share of labels whose edges differ by `least` or more, and those that do not."""
    lost = [label for label, value in differences.items() if value < least]
    return (1 - len(lost) / len(differences) if differences else 0.0), lost
