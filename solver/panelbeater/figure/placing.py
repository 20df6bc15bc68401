"""Stand a figure on the stage: as tall as the shot wants it, feet on the ground line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from panelbeater.errors import DrawingError
from panelbeater.geometry.frames import apply, map_shape
from panelbeater.terms.arrays import Affines, Points
from panelbeater.terms.figure import Figure


def place_figure(
    figure: Figure, *, height: float, centre_x: float, ground: float
) -> Figure:
    """Scale and move `figure` so that its silhouette is `height` high.

    Its lowest point comes to y = `ground`, the middle of its width to x = `centre_x`; stage
    frame, drawing units. Raises DrawingError when `height` is not a positive number.
    """
    if not (np.isfinite([height, centre_x, ground]).all() and height > 0):
        raise DrawingError(
            f"{figure.source or 'figure'}: cannot stand {height} high at ({centre_x}, "
            f"{ground}); give finite numbers and a height above 0"
        )
    x0, _, x1, y1 = figure.silhouette.bounds
    k = height / figure.height
    place = np.diag([k, k, 1.0])
    place[:2, 2] = centre_x - k * (x0 + x1) / 2, ground - k * y1
    bones = tuple(
        replace(
            bone,
            start=_moved(place, bone.start),
            end=_moved(place, bone.end),
            region=map_shape(place, bone.region),
            body=map_shape(place, bone.body),
        )
        for bone in figure.bones
    )
    return replace(figure, silhouette=map_shape(place, figure.silhouette), bones=bones)


def _moved(place: Affines, point: Points) -> Points:
    out: Points = apply(place, point[None])[0]
    out.setflags(write=False)
    return out
