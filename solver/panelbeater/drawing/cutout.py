"""The artwork of one part of a cut piece: cut through where it is plain, else clipped."""

from __future__ import annotations

from lxml import etree

from panelbeater.drawing.parting import clip_markup, path_of
from panelbeater.svg import areas_of, path_area
from panelbeater.terms.drawing import Shape

_PLAIN = {"d", "fill", "fill-opacity", "fill-rule", "opacity"}


def part_artwork(
    artwork: str, area: Shape, *, clip: str, diagonal: float
) -> tuple[str, str]:
    """Markup of the part inside `area` (drawing units), and the definition it needs.

    Flat fills are cut through like the piece itself, which any renderer shows fast;
    strokes, gradients and nested artwork keep their own markup under a clip path named
    `clip`.
    """
    parser = etree.XMLParser(resolve_entities=False, no_network=True)
    root = etree.fromstring(f"<g>{artwork}</g>", parser)
    if not all(_is_plain(child) for child in root):
        clipped = f'<g clip-path="url(#{clip})">{artwork}</g>'
        return clipped, clip_markup(clip, area)
    cut = []
    for child in root:
        rule = child.get("fill-rule", "nonzero")
        whole = path_area(child.get("d", ""), rule=rule, diagonal=diagonal)
        left = areas_of(whole.intersection(area))
        if left.is_empty:
            continue
        paint = "".join(
            f' {key}="{child.get(key)}"'
            for key in ("fill", "fill-opacity", "opacity")
            if child.get(key)
        )
        cut.append(f'<path d="{path_of(left)}" fill-rule="evenodd"{paint}/>')
    return "".join(cut), ""


def _is_plain(element: etree._Element) -> bool:
    fill = element.get("fill", "")
    return element.tag == "path" and set(element.attrib) <= _PLAIN and fill.startswith("#")
