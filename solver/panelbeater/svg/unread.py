"""What a drawing may hold that is left out, and what is said about it."""

from __future__ import annotations

UNREAD: dict[str, str] = {
    "text": "text is left out: convert text to outlines in the drawing program",
    "image": "an embedded image is left out: only vector shapes become pieces",
}
"""By element."""
IGNORED: dict[str, str] = {
    "mask": "a mask is ignored; cut the shape in the drawing program instead",
    "filter": "a filter effect is ignored",
    "marker-start": "line markers are ignored; convert them to shapes",
    "marker-mid": "line markers are ignored; convert them to shapes",
    "marker-end": "line markers are ignored; convert them to shapes",
}
"""By property."""
