"""Putting a finished file in its place whole, or not at all."""

from __future__ import annotations

import contextlib
import glob
import json
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np


def write_whole(path: Path, chunks: Iterable[bytes]) -> None:
    """Write a neighbour first, then swap it in: a broken run never leaves half a file.

    The bytes are on the disk before the swap, and the swap before this returns, so that
    not even a power cut leaves an empty file. Raises OSError when there is no room or no
    leave to write; the old file then stays as it was.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    _sweep(path)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with part.open("wb") as stream:
            stream.writelines(chunks)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(part, path)
    except OSError as error:
        # A full disk names no file, and nobody has heard of the neighbour.
        raise OSError(error.errno, error.strerror, str(path)) from error
    finally:
        with contextlib.suppress(OSError):  # the first failure is the one to tell
            part.unlink(missing_ok=True)
    _settle(path.parent)


def _sweep(path: Path) -> None:
    """Remove what runs that were killed left behind for this file."""
    for part in sorted(path.parent.glob(f".{glob.escape(path.name)}.*.part")):
        owner = part.name.split(".")[-2]
        if owner.isdigit() and not _is_running(int(owner)):
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)


def _is_running(process: int) -> bool:
    if process == os.getpid():
        return True
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True
    return True


def _settle(folder: Path) -> None:
    """Put the swap itself on the disk, where folders can be opened for that."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


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
