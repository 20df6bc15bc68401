"""Reads a pose that the animator saved from the preview page."""

from __future__ import annotations

import difflib
import json
from pathlib import Path
from typing import Annotated, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from panelbeater.errors import DrawingError, plain
from panelbeater.terms.figure import BONE_IDS
from panelbeater.terms.pose import KeyPose

MOST_PROBLEMS = 20
MOST_BYTES = 1 << 16
"""A pose of fifteen bones takes about two thousand."""
Place = Annotated[float, Field(ge=-1e6, le=1e6, allow_inf_nan=False)]
Turn = Annotated[float, Field(ge=-100, le=100, allow_inf_nan=False)]
Scale = Annotated[float, Field(gt=0, le=4, allow_inf_nan=False)]


class PoseFile(BaseModel):
    """The file: frame from 0; root in the vehicle's drawing units, y down; turns in radians
    from the standing pose, positive turns x towards y; scales along and across each bone.
    Root, turns and scales may be left out, and so may any bone: it follows the action.
    """

    model_config = ConfigDict(extra="forbid")

    format: Literal["panelbeater-pose"]
    version: Literal[1]
    frame: int = Field(ge=0, le=100_000)
    root: tuple[Place, Place] | None = None
    turns: dict[str, Turn] = Field(default_factory=dict)
    scales: dict[str, tuple[Scale, Scale]] = Field(default_factory=dict)


def read_pose(path: Path) -> KeyPose:
    """A key pose from a small JSON file.

    Raises DrawingError with one line a problem: file, what was found, what to do.
    """
    try:
        if path.exists() and not path.is_file():  # a pipe would keep us waiting
            raise DrawingError(f"{path}: is no plain file; name a saved pose")
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
        if len(content) > MOST_BYTES:
            raise DrawingError(f"{path}: larger than a pose can be; save it again")
        found = PoseFile.model_validate(json.loads(content.decode("utf-8-sig")))
    except FileNotFoundError:
        raise DrawingError(f"{path}: no such pose; save it from the preview page") from None
    except ValidationError as error:
        lines = [
            f"{path.name}: {plain('.'.join(str(part) for part in e['loc']) or 'file')}: "
            f"{e['msg']}; save it again"
            for e in error.errors()[:MOST_PROBLEMS]
        ]
        raise DrawingError("\n".join(lines)) from None
    except (OSError, ValueError, RecursionError) as error:
        raise DrawingError(
            f"{path}: not a pose saved from the page: {plain(str(error), 80)}"
        ) from None
    unknown = sorted({*found.turns, *found.scales} - set(BONE_IDS))
    if unknown:
        near = difflib.get_close_matches(unknown[0], BONE_IDS, n=1)
        hint = f"did you mean {near[0]!r}?" if near else f"bones: {', '.join(BONE_IDS)}"
        raise DrawingError(f"{path.name}: no bone '{plain(unknown[0])}'; {hint}")
    root = None if found.root is None else np.array(found.root)
    return KeyPose(path.stem, found.frame, root, found.turns, found.scales)
