"""Guess what each piece is: by its name first, else by shape, place and colour."""

from __future__ import annotations

import colorsys
import re
from dataclasses import dataclass

import shapely

from panelbeater.drawing.drafts import Draft
from panelbeater.drawing.merging import roundness
from panelbeater.svg import areas_of
from panelbeater.terms.drawing import Kind, Shape

# First match wins: a "wheel arch panel" is a panel, a "window frame" too.
_WORDS: tuple[tuple[Kind, str], ...] = (
    ("panel", "arch fender frame mudguard"),
    ("wheel", "wheel tyre tire roue rueda rad hjul"),
    ("window", "window windscreen windshield glass pane fenster vitre porthole canopy"),
    (
        "lamp",
        "lamp light headlight headlamp taillight beacon blinker indicator siren lantern",
    ),
    ("bumper", "bumper skirt fence plough"),
    (
        "panel",
        "panel door bonnet hood roof boot body cab cabin bed side wing chassis hull tank"
        + " box cargo trailer flank sill tail nose",
    ),
)


def kind_of_name(name: str) -> Kind | None:
    """The kind a name speaks of, or None."""
    words = re.findall(r"[a-z]+", re.sub(r"([a-z])([A-Z])", r"\1 \2", name).lower())
    singular = {word for given in words for word in (given, given.removesuffix("s"))}
    for kind, known in _WORDS:
        if not singular.isdisjoint(known.split()):
            return kind
    return None


@dataclass(frozen=True, slots=True)
class _Look:
    """What the eye sees of a piece, places as shares of the silhouette's box."""

    share: float
    """Area as a share of the silhouette."""
    x: float
    y: float
    width: float
    height: float
    low: float
    """Where its lower edge is: 1 at the bottom."""
    hue: float
    saturation: float
    value: float

    @property
    def is_pale(self) -> bool:
        return self.value > 0.8 and self.saturation < 0.25

    @property
    def is_blue(self) -> bool:
        return 0.45 < self.hue < 0.72 and self.saturation > 0.1 and self.value > 0.4

    @property
    def is_warm(self) -> bool:
        is_red_to_yellow = self.hue < 0.18 or self.hue > 0.9
        return is_red_to_yellow and self.saturation > 0.35 and self.value > 0.6


def _look(draft: Draft, silhouette: Shape) -> _Look:
    x0, y0, x1, y1 = silhouette.bounds
    left, top, right, low = draft.outline.bounds
    centre = draft.outline.centroid
    w, h = max(x1 - x0, 1e-12), max(y1 - y0, 1e-12)
    red, green, blue = (int(draft.colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
    hue, saturation, value = colorsys.rgb_to_hsv(red, green, blue)
    return _Look(
        share=draft.outline.area / silhouette.area,
        x=(centre.x - x0) / w,
        y=(centre.y - y0) / h,
        width=(right - left) / w,
        height=(low - top) / h,
        low=(low - y0) / h,
        hue=hue,
        saturation=saturation,
        value=value,
    )


def infer_kinds(drafts: list[Draft], silhouette: Shape) -> list[Kind]:
    """The kind of every draft, given far to near."""
    looks = [_look(draft, silhouette) for draft in drafts]
    glazed = [
        _could_be_window(draft, looks[k], drafts[:k]) for k, draft in enumerate(drafts)
    ]
    has_blue = any(
        found and look.is_blue for found, look in zip(glazed, looks, strict=True)
    )
    kinds: list[Kind] = []
    for draft, look, found in zip(drafts, looks, glazed, strict=True):
        # Beside blue glass, white shapes are stripes and plates, not windows.
        is_window = found and (look.is_blue or not has_blue)
        named = kind_of_name(draft.name) if draft.name else None
        # A winch is no lamp because it is yellow: colour only speaks where no name does.
        guess = _kind_of_look(draft, look, is_window=is_window)
        if draft.name and guess in ("window", "lamp"):
            guess = "panel" if look.share >= 0.03 else "other"
        kinds.append(named or guess)
    return kinds


def _kind_of_look(draft: Draft, look: _Look, *, is_window: bool) -> Kind:
    is_end = look.x < 0.16 or look.x > 0.84
    if roundness(draft.outline) > 0.97 and look.y > 0.5 and look.height > 0.1:
        return "wheel"
    if is_window:
        return "window"
    is_bright = look.is_warm or look.is_pale
    if look.share < 0.04 and is_end and 0.2 < look.y < 0.85 and is_bright:
        return "lamp"
    if look.share < 0.03 and look.y < 0.2 and look.width < 0.3 and look.is_warm:
        return "lamp"
    is_strip = look.width > 0.6 and look.height < 0.2
    if look.y > 0.6 and (is_strip or (is_end and look.share < 0.06)):
        return "bumper"
    return "panel" if look.share >= 0.03 else "other"


def _could_be_window(draft: Draft, look: _Look, under: list[Draft]) -> bool:
    if not (look.is_blue or look.is_pale) or look.y > 0.6 or look.share > 0.3:
        return False
    if draft.outline.area < 0.75 * draft.outline.convex_hull.area:
        return False
    if look.height < 0.08 or look.width > 0.7:
        return False
    touching = [other.outline for other in under if other.outline.intersects(draft.outline)]
    below = areas_of(shapely.union_all(touching))
    return below.intersection(draft.outline).area > 0.7 * draft.outline.area
