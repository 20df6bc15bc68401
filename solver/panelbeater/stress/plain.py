"""What the judge's scores mean, in words an animator need not look up."""

from __future__ import annotations

import re
from collections.abc import Sequence

from panelbeater.terms.figure import without_side

MEANING: dict[str, str] = {
    "bundles": "groups moving at once",
    "bundles at most": "groups moving at once, worst frame",
    "tracking load": "how hard the eye works: groups and speed",
    "secrecy": "resizing that shows, of all resizing",
    "step": "jump from drawing to drawing, in the piece's own size",
    "kink": "sharpest corner in a path, degrees",
    "arc": "length of a path over its straight line",
    "landmark legibility": "signature pieces readable while the shot holds",
    "signature pieces kept": "pieces the vehicle is known by, still in view",
    "coverage": "share of the figure that is dressed",
    "own-region coverage": "share of each limb dressed by its own pieces",
    "hold of the vehicle": "frames the vehicle stands still first",
    "hold of the robot": "frames the robot stands still last",
}
"""Score name to what is counted."""
FAULT: dict[str, str] = {
    "bundles": "too many groups move at once",
    "bundles at most": "too many groups move at once",
    "tracking load": "there is more to follow than the eye can hold",
    "secrecy": "pieces change size where it shows",
    "step": "pieces jump too far from drawing to drawing",
    "kink": "a path has a sharp corner",
    "arc": "paths run straight or wander",
    "landmark legibility": "what the vehicle is known by cannot be read",
    "signature pieces kept": "what the vehicle is known by is lost",
    "coverage": "the figure is bare",
    "own-region coverage": "limbs are dressed by pieces of other limbs",
    "hold of the vehicle": "the vehicle is not held long enough to be read",
    "hold of the robot": "the robot is not held long enough to be read",
}
"""Score name to what is wrong when it misses its target."""


def say(piece: str) -> str:
    """A piece's name as a person says it."""
    return "the " + piece.replace("_", " ").replace("-", " ")


def say_all(pieces: Sequence[str]) -> str:
    """Up to three by name, more by their number."""
    if len(pieces) > 3:
        return f"{say(pieces[0])} and {len(pieces) - 1} more pieces"
    names = [say(piece) for piece in pieces]
    return " and ".join([", ".join(names[:-1]), names[-1]] if names[1:] else names)


def say_bone(bone: str) -> str:
    """`left thigh` for `thigh_l`."""
    side = {"_l": "left ", "_r": "right "}.get(bone[-2:], "")
    return side + without_side(bone).replace("_", " ")


def say_rule(text: str) -> str:
    """A rule's verdict with limbs as a person says them: `upper_arm_r`, right upper arm."""
    return re.sub(r"\b[a-z_]+_[lr]\b", lambda found: say_bone(found[0]), text)


def other_side(bone: str) -> str:
    """`thigh_r` for `thigh_l`; the trunk answers itself."""
    ending = {"_l": "_r", "_r": "_l"}.get(bone[-2:], "")
    return without_side(bone) + ending
