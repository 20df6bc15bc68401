"""Putting a finished file in its place whole, or not at all."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np


def write_whole(path: Path, chunks: Iterable[bytes]) -> None:
    """Write a neighbour first, then swap it in: a broken run never leaves half a file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with part.open("wb") as stream:
            stream.writelines(chunks)
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)


def _plain(value: object) -> object:
    if isinstance(value, np.ndarray | np.generic):
        return value.tolist()
    raise TypeError(f"cannot write {type(value).__name__} as JSON")


def export_json(obj: Any, path: Path) -> None:
    """Write plan or scores as indented UTF-8 JSON, keys in the order given.

    Numpy numbers and arrays become plain lists. Raises ValueError on NaN or infinity, which
    JSON cannot say; nothing is written then.
    """
    text = json.dumps(obj, allow_nan=False, ensure_ascii=False, indent=1, default=_plain)
    write_whole(path, [text.encode(), b"\n"])
