"""What can go wrong, in words an animator can act on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # help is shown without loading any of it
    from shapely.geometry.base import BaseGeometry


class PanelbeaterError(Exception):
    """Base of every error shown to the user; `exit_status` is what the command returns."""

    exit_status = 2


class DrawingError(PanelbeaterError):
    """The files or options are wrong: says which file, which piece, what to do."""


class NoFoldError(PanelbeaterError):
    """The body cannot be hidden inside the vehicle: says what leaks."""

    exit_status = 3

    def __init__(self, message: str, showing: Mapping[str, BaseGeometry] | None = None):
        super().__init__(message)
        self.showing = dict(showing or {})
        """Bone id to what of it shows outside the vehicle in the nearest fold, worst first;
        stage frame."""


class NoAssignmentError(PanelbeaterError):
    """No plan exists under the pins and rules: says which of them clash."""

    exit_status = 3


def plain(text: str, longest: int = 60) -> str:
    """Text from a stranger, fit for one line of a message."""
    word = "".join(c if c.isprintable() else " " for c in text)
    return word if len(word) <= longest else f"{word[: longest - 3]}..."
