"""Array aliases of the judge: each states shape, unit and frame once."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np

from panelbeater.terms.arrays import Flags

__all__ = ["Flags", "Shapes"]

Shapes: TypeAlias = np.ndarray[Any, np.dtype[np.object_]]
"""Shapely outlines, drawing units, stage frame; its docstring says the shape."""
