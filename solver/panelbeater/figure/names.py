"""The words animators write on bones and regions, turned into the fifteen bone ids."""

from __future__ import annotations

import re
from collections.abc import Iterable

from panelbeater.terms.figure import BONE_IDS

# One name per joint chain; spaces, dashes and capitals are gone by then.
_WORDS: dict[str, str] = {
    "waist": "waist", "pelvis": "waist", "hips": "waist", "hip": "waist", "belly": "waist",
    "torso": "torso", "spine": "torso", "chest": "torso", "trunk": "torso",
    "head": "head", "skull": "head", "face": "head",
    "upper_arm": "upper_arm", "upperarm": "upper_arm", "arm": "upper_arm",
    "forearm": "forearm", "lower_arm": "forearm", "lowerarm": "forearm",
    "fore_arm": "forearm",
    "hand": "hand", "fist": "hand", "palm": "hand", "claw": "hand",
    "thigh": "thigh", "upper_leg": "thigh", "upperleg": "thigh", "leg": "thigh",
    "shank": "shank", "calf": "shank", "shin": "shank", "lower_leg": "shank",
    "lowerleg": "shank",
    "foot": "foot", "shoe": "foot", "boot": "foot",
}  # fmt: skip
_SIDES = {"l": "l", "left": "l", "lft": "l", "r": "r", "right": "r", "rgt": "r"}
_NOISE = {"bone", "bones", "region", "path", "line", "shape", "layer", "the", "g"}


def bone_named(text: str) -> str | None:
    """The bone id that `text` means, or None: "Left shin", "bone_thigh_r", "calf.L"."""
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", "_", text.strip())
    parts = [p for p in re.split(r"[^A-Za-z]+", spaced) if p]
    words = [p.lower() for p in parts if p.lower() not in _NOISE]
    sides = {_SIDES[w] for w in words if w in _SIDES}
    base = _WORDS.get("_".join(w for w in words if w not in _SIDES))
    if base is None or len(sides) > 1:
        return None
    name = "_".join([base, *sides])
    return name if name in BONE_IDS else None


def innermost_bone(labels: Iterable[str]) -> str | None:
    """The bone id of the last label that names one; labels run from outermost to own."""
    found = [bone for bone in map(bone_named, labels) if bone]
    return found[-1] if found else None


def is_shadow_name(labels: Iterable[str]) -> bool:
    """True when any label says that the shape is a drop shadow."""
    return any("shadow" in label.lower() for label in labels)
