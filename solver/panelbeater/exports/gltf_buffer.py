"""The numbers of a glTF file: one buffer, its views and accessors, and the container."""

from __future__ import annotations

import json
import struct
from typing import Any

import numpy as np

FLOAT, SHORT, INT = 5126, 5123, 5125
VERTICES, INDICES = 34962, 34963
KINDS = {1: "SCALAR", 2: "VEC2", 3: "VEC3", 4: "VEC4"}
TYPES = {FLOAT: "<f4", SHORT: "<u2", INT: "<u4"}


class Buffer:
    """Grows by arrays and hands out accessor numbers; equal arrays are kept once."""

    def __init__(self) -> None:
        self.data = bytearray()
        self.views: list[dict[str, Any]] = []
        self.accessors: list[dict[str, Any]] = []
        self._known: dict[tuple[Any, ...], int] = {}

    def add(
        self,
        values: Any,
        kind: int = FLOAT,
        *,
        target: int | None = None,
        is_share: bool = False,
        with_bounds: bool = False,
    ) -> int:
        """Put an (n,) or (n, k) array in; `is_share`: whole numbers that stand for 0..1."""
        array = np.ascontiguousarray(values, dtype=TYPES[kind])
        packed = array.tobytes()
        word = (packed, array.shape, kind, target, is_share, with_bounds)
        if word in self._known:
            return self._known[word]
        self.data += b"\0" * (-len(self.data) % 4)
        view: dict[str, Any] = {
            "buffer": 0, "byteOffset": len(self.data), "byteLength": len(packed),
        }  # fmt: skip
        if target is not None:
            view["target"] = target
        self.data += packed
        self.views.append(view)
        accessor: dict[str, Any] = {
            "bufferView": len(self.views) - 1,
            "componentType": kind,
            "count": len(array),
            "type": KINDS[1 if array.ndim == 1 else array.shape[1]],
        }
        if is_share:
            accessor["normalized"] = True
        if with_bounds:
            rows = array.reshape(len(array), -1)
            accessor["min"] = rows.min(axis=0).tolist()
            accessor["max"] = rows.max(axis=0).tolist()
        self.accessors.append(accessor)
        self._known[word] = len(self.accessors) - 1
        return len(self.accessors) - 1


def binary(document: dict[str, Any], buffer: Buffer) -> bytes:
    """The whole .glb file (glTF 2.0 specification, section 4)."""
    data = bytes(buffer.data) + b"\0" * (-len(buffer.data) % 4)
    whole = {
        **document,
        "buffers": [{"byteLength": len(data)}],
        "bufferViews": buffer.views,
        "accessors": buffer.accessors,
    }
    text = json.dumps(whole, allow_nan=False, ensure_ascii=False, separators=(",", ":"))
    words = text.encode()
    words += b" " * (-len(words) % 4)
    length = 12 + 8 + len(words) + 8 + len(data)
    return (
        struct.pack("<4sII", b"glTF", 2, length)
        + struct.pack("<I4s", len(words), b"JSON")
        + words
        + struct.pack("<I4s", len(data), b"BIN\0")
        + data
    )
