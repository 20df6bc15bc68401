"""Typed fields of one line of the frames file, so that a fault names line and piece."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
import shapely
from shapely import Geometry, MultiPolygon, Polygon

from panelbeater.errors import DrawingError
from panelbeater.terms.arrays import Points
from panelbeater.terms.drawing import Shape

_OUTLINES = ("POLYGON", "MULTIPOLYGON")
FARTHEST = 1e7
"""Drawing units; drawings reach to 1e6."""
LARGEST = 1e9
"""Any other number of the file."""
NEAREST = 1e-100
"""Coordinates nearer to 0 are 0: numbers too small to divide by upset the overlays."""


def as_object(value: object, where: str) -> dict[str, object]:
    """The JSON object `value`, or `DrawingError` saying where it is not one."""
    if not isinstance(value, dict):
        raise DrawingError(f"{where}: a JSON object is expected")
    return cast("dict[str, object]", value)


def as_shapes(texts: list[str], wheres: list[str]) -> list[Shape]:
    """Outlines from well-known text, all at once; `DrawingError` names the first bad."""
    # Collections can nest until the reader's stack ends: only outlines go in.
    plain = [text if text.lstrip().startswith(_OUTLINES) else None for text in texts]
    with np.errstate(all="ignore"):  # numbers too large to hold are told below
        found = list(shapely.from_wkt(plain, on_invalid="ignore"))
    xy = shapely.get_coordinates(found)
    if ((np.abs(xy) < NEAREST) & (xy != 0)).any():
        found = [shape and shapely.transform(shape, _without_specks) for shape in found]
    shapes: list[Shape] = []
    finite = _finite(found)
    for shape, is_finite, where in zip(found, finite, wheres, strict=True):
        if not isinstance(shape, Polygon | MultiPolygon):
            raise DrawingError(f"{where}: outline is not a POLYGON or MULTIPOLYGON text")
        if not is_finite:
            raise DrawingError(
                f"{where}: outline has a coordinate that is not finite or beyond 1e7"
            )
        shapes.append(shape)
    return shapes


def _without_specks(xy: Points) -> Points:
    return np.where(np.abs(xy) < NEAREST, 0.0, xy)


def _finite(shapes: Sequence[Geometry | None]) -> list[bool]:
    xy, owner = shapely.get_coordinates(shapes, return_index=True)
    is_sane = (np.abs(xy) <= FARTHEST).all(axis=1)
    bad = np.bincount(owner[~is_sane], minlength=len(shapes))
    return [bool(count == 0) for count in bad]


@dataclass(frozen=True, slots=True)
class Fields:
    """One JSON object of the file and where it stands, for messages."""

    row: dict[str, object]
    where: str

    def _get(self, name: str) -> object:
        if name not in self.row:
            raise DrawingError(f"{self.where}: {name!r} is missing")
        return self.row[name]

    def _fail(self, name: str, wanted: str) -> DrawingError:
        return DrawingError(f"{self.where}: {name!r} must be {wanted}")

    def has(self, name: str) -> bool:
        """Whether the file says anything under this name."""
        return name in self.row

    def texts(self, name: str) -> list[str]:
        """A list of plain texts."""
        value = self._get(name)
        if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
            raise self._fail(name, "a list of texts")
        return value

    def text(self, name: str) -> str:
        """A text that is not empty."""
        value = self._get(name)
        if not isinstance(value, str) or not value:
            raise self._fail(name, "a text")
        return value

    def text_or_none(self, name: str) -> str | None:
        """A text, or None for null and for an empty text."""
        value = self._get(name)
        if value is None or value == "":
            return None
        return self.text(name)

    def number(self, name: str) -> float:
        """A finite number."""
        value = self._get(name)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._fail(name, "a number")
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise self._fail(name, "a finite number")
        if abs(number) > LARGEST:
            raise self._fail(name, f"at most {LARGEST:g}")
        return number

    def whole(self, name: str) -> int:
        """A whole number."""
        value = self.number(name)
        if value != int(value):
            raise self._fail(name, "a whole number")
        return int(value)

    def flag(self, name: str) -> bool:
        """True or false."""
        value = self._get(name)
        if not isinstance(value, bool):
            raise self._fail(name, "true or false")
        return value

    def shape(self, name: str) -> Shape:
        """One outline."""
        return as_shapes([self.text(name)], [f"{self.where}, {name}"])[0]

    def shaped(self, name: str) -> list[tuple[Fields, Shape]]:
        """The objects of a list, each with the outline of its `wkt`; their ids differ."""
        value = self._get(name)
        if not isinstance(value, list):
            raise self._fail(name, "a list")
        rows = []
        ids: set[str] = set()
        for at, item in enumerate(value):
            place = f"{self.where}, {name}[{at}]"
            row = Fields(as_object(item, place), place)
            row = Fields(row.row, f"{place} {row.text('id')!r}")
            if row.text("id") in ids:
                raise DrawingError(f"{row.where}: this id is there twice")
            ids.add(row.text("id"))
            rows.append(row)
        shapes = as_shapes([row.text("wkt") for row in rows], [row.where for row in rows])
        return list(zip(rows, shapes, strict=True))
