"""Array aliases: each states shape, unit and frame of reference once."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np

Points: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
"""(..., n, 2), drawing units, stage frame unless said otherwise: x right, y down."""

Affines: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
"""(..., 3, 3), homogeneous transforms `to_from`, drawing units."""

Turns: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
"""(..., n_bones), radians from the parent bone; positive turns x towards y."""

Scales: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
"""(..., n_bones, 2), ratios: length along the bone, width across it."""

Floats: TypeAlias = np.ndarray[Any, np.dtype[np.float64]]
"""Any other real array; its docstring says the shape."""

Flags: TypeAlias = np.ndarray[Any, np.dtype[np.bool_]]
"""Any array of yes and no; its docstring says the shape."""

Ints: TypeAlias = np.ndarray[Any, np.dtype[np.int64]]
"""Any whole-number array; its docstring says the shape."""
Shapes: TypeAlias = np.ndarray[Any, np.dtype[np.object_]]
"""(...), outlines."""
