"""The open silhouettes a shot is compared with, and how a silhouette is brought to size."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import shapely
from PIL import Image, ImageDraw

from panelbeater.terms.drawing import Shape

Mask: TypeAlias = np.ndarray[Any, np.dtype[np.bool_]]
"""(h, w), true inside the silhouette; rows run down."""

FOLDER = Path(__file__).parents[1] / "open_silhouettes"
COLUMNS = ("name", "class", "package", "version", "licence")
CELL_PX = 64
"""Side of a cell; finer ones changed no nearest class in trials."""
AIR_PX = 2
VEHICLES = ("car", "lorry", "tractor", "two-wheeler", "boat", "aircraft")
"""Classes that count as a vehicle; "person" counts as the robot, the rest as neither."""


@dataclass(frozen=True, slots=True, eq=False)
class Silhouette:
    """One reference silhouette and where it comes from."""

    name: str
    kind: str
    package: str
    version: str
    licence: str
    mask: Mask


def fitted(mask: Mask) -> Mask:
    """(64, 64): the silhouette with its box centred and its longer side filling the cell.

    Upright stays upright: a standing figure and a lying one are different pictures. An
    empty silhouette gives an empty cell.
    """
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    cell = np.zeros((CELL_PX, CELL_PX), dtype=np.bool_)
    if not len(rows):
        return cell
    cut = mask[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    room = CELL_PX - 2 * AIR_PX
    k = room / max(cut.shape)
    size = (max(1, round(cut.shape[1] * k)), max(1, round(cut.shape[0] * k)))
    grey = Image.fromarray(cut.astype(np.uint8) * 255).resize(size, Image.Resampling.BOX)
    top, left = (CELL_PX - size[1]) // 2, (CELL_PX - size[0]) // 2
    cell[top : top + size[1], left : left + size[0]] = np.asarray(grey) > 127
    return cell


def mask_of(shape: Shape, height_px: int = 4 * CELL_PX) -> Mask:
    """An outline painted so many rows high; holes stay open."""
    x0, y0, x1, y1 = shape.bounds
    k = height_px / max(y1 - y0, 1e-12)
    sheet = Image.new("1", (max(1, round(k * (x1 - x0))), height_px))
    pen = ImageDraw.Draw(sheet)
    for part in shapely.get_parts(shape):
        for at, ring in enumerate((part.exterior, *part.interiors)):
            corners = (shapely.get_coordinates(ring) - (x0, y0)) * k
            pen.polygon(corners.ravel().tolist(), fill=int(at == 0))
    return np.asarray(sheet, dtype=np.bool_)


@cache
def open_silhouettes() -> tuple[Silhouette, ...]:
    """The bundled set, in the order of its list."""
    with (FOLDER / "silhouettes.csv").open(encoding="utf-8", newline="") as stream:
        rows = [[row[name] for name in COLUMNS] for row in csv.DictReader(stream)]
    with Image.open(FOLDER / "silhouettes.png") as image:
        sheet = ~np.asarray(image.convert("1"))
    columns = sheet.shape[1] // CELL_PX
    out = []
    for at, (name, kind, package, version, licence) in enumerate(rows):
        y, x = (CELL_PX * n for n in divmod(at, columns))
        mask = sheet[y : y + CELL_PX, x : x + CELL_PX]
        out.append(Silhouette(name, kind, package, version, licence, mask))
    return tuple(out)
